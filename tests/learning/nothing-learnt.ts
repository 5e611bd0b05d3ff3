import { createModerating, type Moderating } from '../../src/learning/moderating.ts';
import { memoryBook } from '../../src/learning/store.ts';
import { radio, settings } from '../core/example-flow.ts';

/** For desks of tests in which no case is ever settled. */
export const nothingLearnt = (): Moderating =>
  createModerating(
    { book: memoryBook(), cases: async function* () {}, flows: [radio], settings, now: () => 0 },
    async () => {},
  );

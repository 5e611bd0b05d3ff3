import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { beliefOf, foresee } from '../../src/authoring/foresee.ts';
import { imagined } from '../../src/authoring/given.ts';
import { tablesOf } from '../../src/core/step.ts';
import { parseFlow } from '../../src/flows.ts';
import { settings } from '../core/example-flow.ts';

/** The worked example that `flows/README.md` teaches with is a flow, and does what the text says of it. */
const readme = readFileSync(join(import.meta.dirname, '../../flows/README.md'), 'utf8');
const source = [...readme.matchAll(/```yaml\n([\s\S]*?)```/g)]
  .map(([, yaml]) => yaml)
  .find((yaml) => yaml?.includes('flow: hand-torch'));

test('is a valid flow with nothing to advise', () => {
  const parsed = parseFlow(source ?? '', 'hand-torch.yaml');
  expect('problems' in parsed ? parsed.problems : parsed.advice).toEqual([]);
});

test('asks for cells first, and a crust brings the contacts to the top', () => {
  const parsed = parseFlow(source ?? '', 'hand-torch.yaml');
  if ('problems' in parsed) throw new Error('not a flow');
  const tables = tablesOf(parsed.flow, settings);
  const kaseOf = (...given: string[]) => {
    const thought = imagined(parsed.flow, given, 'handy');
    if ('problems' in thought) throw new Error(thought.problems.join());
    return thought.kase;
  };
  expect(foresee(kaseOf('complaint=dark'), tables, settings).step).toBe('new-cells');
  expect(beliefOf(kaseOf('complaint=dark', 'look-inside=crust'), tables, settings)[0]?.fault).toBe(
    'contacts',
  );
});

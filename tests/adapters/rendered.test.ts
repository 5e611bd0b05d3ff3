import fc from 'fast-check';
import { expect, test } from 'vitest';
import { bodies, modal } from '../../adapters/discord/outbound.ts';
import { body, view } from '../../adapters/slack/outbound.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Outbound } from '../../shared/outbound.ts';
import { readSettings } from '../../src/config.ts';
import { readFlows } from '../../src/flows.ts';
import { converse } from '../core/converse.ts';
import { people, radio } from '../core/example-flow.ts';
import { movesOf } from '../core/moves.ts';
import { wild } from '../core/wild.ts';
import { isEmpty, messageProblems, modalProblems } from '../platforms/discord/limits.ts';
import { pingsIn } from '../platforms/discord/pings.ts';
import { schemaProblems } from '../platforms/discord/schemas.ts';
import { pings, wrongMessage, wrongView } from '../platforms/slack/limits.ts';

/** Whatever random conversations make the desk say can be shown on both platforms. */

const read = await readSettings({});
if ('problems' in read) throw new Error(read.problems.join('\n'));
const files = await readFlows(read.settings.flowsDir);
if ('problems' in files) throw new Error('no flows');

const onDiscord = 'discord:1400000000000000001';
const onSlack = 'slack:C00000001/1900000001.000001';

function problems(one: Outbound): string[] {
  if (one.kind === 'form') {
    const shown = modal(one, onDiscord);
    return [
      ...modalProblems(shown as never),
      ...schemaProblems('modal', shown),
      ...wrongView(view(one, onSlack) as never),
    ];
  }
  const slack = body(one, onSlack, 'https://example.org/p1');
  return [
    ...bodies(one, onDiscord).flatMap((made) => [
      ...messageProblems(made),
      ...schemaProblems('message', made),
      ...pingsIn(made),
      ...(isEmpty(made) ? ['nothing to see'] : []),
    ]),
    ...(slack === null ? [] : [...wrongMessage(slack as never), ...pings(slack as never)]),
  ];
}

/** Hundreds of conversations of each appliance, led by chance in place of a plan, so that most of its steps come up. */
test.each([...files.flows, radio].map((flow) => [flow.flow, flow] as const))(
  '%s: every step that chance leads to, and all that is said around it',
  (_, flow: Flow) => {
    const asked = new Set<string>();
    const kinds = new Set<string>();
    const { asker, mender, moderator, stranger } = people;
    fc.assert(
      fc.property(
        fc.constantFrom(null, 'new', 'handy', 'trained'),
        fc.nat({ max: 1000 }),
        fc.array(movesOf(flow, 8), { minLength: 20, maxLength: 70, size: 'max' }),
        (level, salt, moves) => {
          const crowd = [level ? { ...asker, level } : asker, mender, moderator, stranger, mender, mender];
          const { sent } = converse(flow, wild(salt), crowd as never, 'it is dead', moves);
          for (const one of sent) {
            kinds.add(one.kind);
            if (one.kind === 'ask') asked.add(one.step);
            expect(problems(one)).toEqual([]);
          }
        },
      ),
      { numRuns: 300, seed: 20_261_125 },
    );
    // Where nothing comes up, nothing was looked at.
    const steps = [...flow.checks, ...flow.remedies].map(({ id }) => id);
    expect(steps.filter((id) => asked.has(id)).length).toBeGreaterThan(steps.length * 0.5);
    for (const kind of ['ask', 'say', 'warn', 'show', 'amend', 'handover', 'settle', 'bench', 'whisper'])
      expect(kinds).toContain(kind);
  },
);

import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Answer, Case } from '../../shared/case.ts';
import type { Flow, Level } from '../../shared/flow.ts';
import type { Person } from '../../shared/person.ts';
import { believe, evidence } from '../../src/core/infer.ts';
import { emptyCase } from '../../src/core/reduce.ts';
import { gate } from '../../src/core/safety.ts';
import { tabulate } from '../../src/core/tables.ts';
import { converse } from '../core/converse.ts';
import { people } from '../core/example-flow.ts';
import { movesOf } from '../core/moves.ts';
import { drawn, expectNothingWrong } from '../core/talked.ts';
import { wild } from '../core/wild.ts';
import { closed, files, flows, full } from './library.ts';

/** What holds for every flow of the project. The television has tests of its own beside these. */

const levels: readonly Level[] = ['new', 'handy', 'trained'];
const named = (list: readonly Flow[]) => list.map((flow) => [flow.flow, flow] as const);

describe('every file', () => {
  test.each(files.map(({ flow, advice }) => [flow.flow, advice] as const))(
    '%s leaves nothing to advise: no long sentence, no word of the trade unexplained, no twins',
    (_, advice) => {
      expect(advice.map(({ where, problem }) => `${where}: ${problem}`)).toEqual([]);
    },
  );

  test.each(named(flows))(
    '%s says where its numbers come from, and names no machine or person',
    (_, flow) => {
      const text = JSON.stringify(flow);
      expect(text).not.toMatch(/\/(?:work|home|tmp)\/|https?:|@[a-z]+\./i);
      for (const { source } of [...flow.faults, ...flow.checks, ...flow.remedies, ...flow.access])
        expect(source.length).toBeGreaterThan(5);
      expect(flow.references.length).toBeGreaterThan(0);
    },
  );

  test.each(named(full))('%s is as deep as it should be', (_, flow) => {
    expect(flow.faults.length).toBeGreaterThanOrEqual(8);
    expect(flow.complaints.length).toBeGreaterThanOrEqual(4);
    expect(flow.faults.map(({ id }) => id)).toContain('something-else');
    // Whoever reads what is wrong can find it in free words.
    expect(flow.complaints.filter(({ words }) => words.length > 0).length).toBeGreaterThanOrEqual(3);
    expect(flow.map.parts.length).toBeGreaterThan(3);
    if (flow.mains && flow.access.length > 0) {
      expect(flow.protection).toBeDefined();
      expect(flow.closing.length).toBeGreaterThan(2);
    }
  });

  test('names of steps, faults and complaints are not used twice within a flow', () => {
    for (const flow of flows) {
      for (const list of [flow.checks, flow.remedies, flow.faults]) {
        const names = list.map(({ name }) => name.toLowerCase());
        expect([flow.flow, names.filter((name, i) => names.indexOf(name) !== i)]).toEqual([flow.flow, []]);
      }
    }
  });
});

describe('what is never opened', () => {
  test('are at least the seven that the desk was built to refuse', () => {
    expect(closed.map(({ flow }) => flow)).toEqual(
      expect.arrayContaining([
        'microwave-oven',
        'picture-tube-set',
        'gas-appliance',
        'fixed-wiring',
        'electric-cycle-battery',
        'damaged-lithium-pack',
        'garage-door',
      ]),
    );
  });

  test.each(named(closed))('%s has no step, stage or reading behind a cover', (_, flow) => {
    expect(flow.access).toEqual([]);
    expect([...flow.checks, ...flow.remedies].filter(({ access }) => access !== 'outside')).toEqual([]);
    expect(flow.checks.filter(({ reading }) => reading)).toEqual([]);
    // No instruction loosens what holds it together.
    const how = [...flow.checks, ...flow.remedies].flatMap((step) => step.how).join(' ');
    expect(how).not.toMatch(/unscrew|remove the (?:cover|back|housing|case)/i);
  });

  test('the washing machine is never worked on with power inside, and asks for no reading there', () => {
    const machine = flows.find(({ flow }) => flow === 'washing-machine');
    const inside = machine?.checks.filter(({ access }) => access !== 'outside') ?? [];
    expect(inside.filter(({ power }) => power === 'on')).toEqual([]);
    expect(inside.filter(({ reading }) => reading)).toEqual([]);
  });
});

describe('every fault can be found', () => {
  /** What the likeliest answer to each check would be; every one taken at its word. */
  test.each(named(flows))('of %s', (_, flow) => {
    const tables = tabulate(flow, { floor: 0.002, mainsVolts: 230 });
    const sure = { new: 1, handy: 1, trained: 1 };
    const cures = flow.remedies.map(({ id }) => tables.cures.get(id) as Float64Array);
    const stamp = { seq: 1, at: 0, by: 'someone', level: 'trained' } as const;
    const lost: string[] = [];
    tables.faults.forEach((fault, f) => {
      if (fault === 'something-else') return;
      const likeliest = <K>(rows: readonly (readonly [K, Float64Array])[]): K | undefined =>
        rows.toSorted(([, a], [, b]) => (b[f] as number) - (a[f] as number))[0]?.[0];
      const complaint = likeliest([...tables.complaints]);
      const answers: Answer[] = [
        ...(complaint === undefined ? [] : [{ ...stamp, kind: 'complaint-stated' as const, complaint }]),
        ...[...tables.details].flatMap(([detail, rows]): Answer[] => {
          const choice = likeliest([...rows]);
          return choice === undefined ? [] : [{ ...stamp, kind: 'detail-stated', detail, choice }];
        }),
        ...[...tables.checks].map(([step, { outcomes, rows }]): Answer => {
          const outcome = likeliest(outcomes.map((id, i) => [id, rows[i] as Float64Array] as const));
          return { ...stamp, kind: 'answered', step, outcome: outcome as string };
        }),
      ];
      const { faults } = believe(tables.prior, evidence(tables, answers, sure));
      const others = tables.faults
        .map((_, g) => g)
        .filter((g) => g !== f && tables.faults[g] !== 'something-else');
      const likelier = others.filter((g) => (faults[g] as number) > (faults[f] as number));
      // Likelier ones may stand before it where the same remedy mends them, or who ends both is the same and nobody mends them.
      const apart = likelier.filter(
        (g) => !cures.some((row) => (row[f] as number) >= 0.3 && (row[g] as number) >= 0.3),
      );
      if (apart.length > 1)
        lost.push(
          `${fault}: ${(100 * (faults[f] as number)).toFixed(1)} %, after ${apart.map((g) => tables.faults[g])}`,
        );
    });
    expect(lost).toEqual([]);
  });
});

describe('the gate, for every step of every flow', () => {
  const kaseOf = (level: Level): Case => ({
    ...emptyCase('thread'),
    asker: 'owner',
    hands: 'owner',
    people: { owner: { id: 'owner', name: 'Ada', level, roles: [] } },
  });
  test.each(named(flows))(
    '%s: nobody does more than their level, and nothing inside comes unprepared',
    (_, flow) => {
      for (const level of levels) {
        const kase = kaseOf(level);
        const may = { new: 0, handy: 1, trained: 2 }[level];
        for (const step of [...flow.checks, ...flow.remedies]) {
          const kind = flow.checks.some(({ id }) => id === step.id) ? 'check' : 'do';
          const refusal = gate({ kind, step: step.id }, kase, flow, 0, false);
          const inside = step.access !== 'outside';
          const live = inside && 'power' in step && step.power === 'on';
          const least = step.least ? { new: 0, handy: 1, trained: 2 }[step.least] : 0;
          const above = may < Math.max(live ? 2 : inside ? 1 : 0, least);
          // An unprepared appliance is still plugged in: whoever it is, nothing inside may pass.
          if (above || inside)
            expect([level, step.id, refusal?.why]).toEqual([level, step.id, expect.any(String)]);
          else expect([level, step.id, refusal]).toEqual([level, step.id, null]);
        }
      }
    },
  );
});

describe('whatever people do', () => {
  const asking = (level: Level | null): Person[] => {
    const { asker, mender, moderator, stranger } = people;
    return [level ? { ...asker, level } : asker, mender, moderator, stranger];
  };
  const level = fc.constantFrom<(Level | null)[]>(null, 'new', 'handy', 'trained', 'trained');

  test.each(named(flows))(
    'with %s nobody is asked what they may not do, and every turn adds up',
    (_, flow) => {
      const moves = fc.array(movesOf(flow, 8), { minLength: 5, maxLength: 60, size: 'max' });
      fc.assert(
        fc.property(level, fc.nat({ max: 1000 }), moves, (vouched, salt, played) => {
          expectNothingWrong(converse(flow, wild(salt), asking(vouched), '', played));
        }),
        { numRuns: 25, seed: 20_261_125 },
      );
    },
  );

  test.each(named(flows))('a conversation about %s ends', (_, flow) => {
    const ends = Array.from({ length: 6 }, (_, i) => drawn(flow, i, 260).scene.kase.state);
    for (const end of ends) expect(['settled', 'with people']).toContain(end);
  });
});

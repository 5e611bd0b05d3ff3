import type { Check, Remedy } from '../../shared/flow.ts';
import { type Finding, noneOf, type Path, quote, unknownName } from '../files/finding.ts';
import { type StageTree, stageTree, wayOut } from './access.ts';
import { type Draft, entries, type Ids, type Loose } from './draft.ts';

/** Steps that somebody can come to: their `needs` and `when` name what exists, and hold together in some case. */
export function reachFindings(draft: Draft): Finding[] {
  const steps = stepsOf(draft);
  const findings = steps.flatMap((step) => [...needFindings(draft, step), ...whenFindings(draft, step)]);
  return [...findings, ...unreached(draft, steps)];
}

interface Step {
  readonly path: Path;
  readonly id: string;
  readonly step: Loose<Check> | Loose<Remedy>;
  readonly live: boolean;
}

function stepsOf({ flow }: Draft): Step[] {
  return [
    ...entries(flow.checks).flatMap(([i, step]): Step[] => {
      const live = step.power === 'on' && step.access !== 'outside';
      return step.id === undefined ? [] : [{ path: ['checks', i], id: step.id, step, live }];
    }),
    ...entries(flow.remedies).flatMap(([i, step]): Step[] =>
      step.id === undefined ? [] : [{ path: ['remedies', i], id: step.id, step, live: false }],
    ),
  ];
}

/** What a check can find: its outcomes, or the bands of its reading. */
export function outcomesOf(draft: Draft, check: string): Ids {
  const [i] = entries(draft.flow.checks).find(([, one]) => one.id === check) ?? [];
  if (i === undefined) return { known: [], complete: false };
  const outcomes = draft.ids(['checks', i, 'outcomes']);
  const bands = draft.ids(['checks', i, 'reading', 'bands']);
  const known = [...outcomes.known, ...bands.known];
  return { known, complete: outcomes.complete && bands.complete && known.length > 0 };
}

function needFindings(draft: Draft, { path, id, step }: Step): Finding[] {
  const checks = draft.ids(['checks']);
  const remedies = draft.ids(['remedies']);
  return entries(step.needs).flatMap(([k, { check, outcome }]): Finding[] => {
    const place: Path = [...path, 'needs', k];
    if (check === undefined) return [];
    if (check === id) {
      return [
        {
          path: [...place, 'check'],
          on: 'value',
          problem: 'this step needs its own finding',
          instead: 'name the check that comes before it',
        },
      ];
    }
    if (!checks.known.includes(check)) {
      if (remedies.known.includes(check)) {
        return [
          {
            path: [...place, 'check'],
            on: 'value',
            problem: `${quote(check)} is a remedy, and only checks find something`,
            instead: 'name a check and its outcome',
          },
        ];
      }
      return checks.complete ? [unknownName([...place, 'check'], 'value', 'check', check, checks.known)] : [];
    }
    const outcomes = outcomesOf(draft, check);
    if (outcome === undefined || !outcomes.complete || outcomes.known.includes(outcome)) return [];
    return [noneOf([...place, 'outcome'], `outcome of ${quote(check)}`, outcome, outcomes.known)];
  });
}

function whenFindings(draft: Draft, { path, step }: Step): Finding[] {
  const details = draft.ids(['details']);
  const questions = ['complaint', ...details.known];
  return Object.entries(step.when ?? {}).flatMap(([question, answers]): Finding[] => {
    const place: Path = [...path, 'when', question];
    if (!questions.includes(question)) {
      return details.complete ? [unknownName(place, 'name', 'question', question, questions)] : [];
    }
    const choices = choicesOf(draft, question);
    return entries(answers).flatMap(([k, answer]) =>
      !choices.complete || choices.known.includes(answer)
        ? []
        : [noneOf([...place, k], `answer to ${quote(question)}`, answer, choices.known)],
    );
  });
}

function choicesOf(draft: Draft, question: string): Ids {
  if (question === 'complaint') return draft.ids(['complaints']);
  const [i] = entries(draft.flow.details).find(([, detail]) => detail.id === question) ?? [];
  return i === undefined ? { known: [], complete: false } : draft.ids(['details', i, 'choices']);
}

/** For each question, the answers with which a step is still possible. */
type Room = ReadonlyMap<string, readonly string[]>;

function roomOf(draft: Draft, { step, live }: Step, tree: StageTree): Room {
  const room = new Map<string, readonly string[]>();
  const way = step.access === undefined ? [] : wayOut(step.access, tree);
  for (const [, detail] of entries(draft.flow.details)) {
    if (detail.id === undefined || !choicesOf(draft, detail.id).complete) continue;
    const free = entries(detail.choices).flatMap(([, { id, limit, stop }]): string[] => {
      if (id === undefined || stop !== undefined) return [];
      const deepest = limit?.deepest;
      const unlimited = deepest === undefined || (deepest !== 'outside' && !tree.has(deepest));
      const allowed = unlimited ? way : wayOut(deepest, tree);
      const tooDeep = way.some((stage) => !allowed.includes(stage));
      return tooDeep || (live && limit?.live === 'never') ? [] : [id];
    });
    room.set(detail.id, free);
  }
  for (const [question, answers] of Object.entries(step.when ?? {})) {
    const wanted = entries(answers).map(([, answer]) => answer);
    const choices = choicesOf(draft, question);
    // A misspelt answer may be any of them.
    if (!choices.complete || !wanted.every((answer) => choices.known.includes(answer))) continue;
    const free = room.get(question);
    room.set(question, free ? free.filter((answer) => wanted.includes(answer)) : wanted);
  }
  return room;
}

function narrowed(a: Room, b: Room): Room {
  const both = new Map(a);
  for (const [question, answers] of b) {
    const others = both.get(question);
    both.set(question, others ? others.filter((answer) => answers.includes(answer)) : answers);
  }
  return both;
}

const closed = (room: Room): string | undefined => [...room].find(([, answers]) => answers.length === 0)?.[0];

/** Paths through `needs` that are looked at; a file that has more is given the benefit of the doubt. */
const mostPaths = 50_000;

function unreached(draft: Draft, steps: readonly Step[]): Finding[] {
  const tree = stageTree(draft);
  const rooms = new Map(steps.map((step) => [step.id, roomOf(draft, step, tree)]));
  const byId = new Map(steps.map((step) => [step.id, step]));
  const clear = ({ path }: Step): boolean =>
    ['needs', 'when', 'access', 'power'].every((part) => draft.sound([...path, part])) &&
    draft.sound(['details']);

  /** Null: what it needs is not known well enough to say anything. */
  const needed = (step: Step): Step[] | null => {
    const needs = entries(step.step.needs).map(([, need]) => byId.get(need.check ?? ''));
    return clear(step) && needs.every((need) => need !== undefined && need !== step)
      ? (needs as Step[])
      : null;
  };
  let paths = 0;
  const reachable = (step: Step): boolean => {
    const from = (at: Step, room: Room, trail: readonly string[]): boolean => {
      paths += 1;
      const here = narrowed(room, rooms.get(at.id) ?? new Map());
      if (closed(here) !== undefined) return false;
      const needs = needed(at);
      if (needs === null || needs.length === 0 || paths > mostPaths) return true;
      const further = [...trail, at.id];
      return needs.some((need) => !further.includes(need.id) && from(need, here, further));
    };
    return from(step, new Map(), []);
  };

  const lost = steps.filter((step) => clear(step) && !reachable(step));
  const findings: Finding[] = [];
  const saidRings = new Set<string>();
  for (const step of lost) {
    const here = { path: step.path, on: 'value' } as const;
    const question = closed(rooms.get(step.id) ?? new Map());
    if (question !== undefined) {
      const own = step.step.when?.[question];
      findings.push({
        ...here,
        problem: own
          ? `nobody can reach this step: its answers to ${quote(question)} forbid it`
          : `nobody can reach this step: every answer to ${quote(question)} forbids it`,
        instead: own ? 'change "when", or the limits of these answers' : 'change the limits of these answers',
      });
      continue;
    }
    const ring = ringOf(step, needed);
    if (ring) {
      const key = ring.toSorted().join(' ');
      if (!saidRings.has(key)) {
        saidRings.add(key);
        findings.push({
          ...here,
          problem: `nobody can reach this step: these need each other first: ${ring.map(quote).join(', ')}`,
          instead: 'take one of these "needs" out',
        });
      }
      continue;
    }
    // A step that needs a lost one is lost for that reason alone, and that is said there.
    if ((needed(step) ?? []).every((need) => lost.includes(need))) continue;
    findings.push({
      ...here,
      problem: 'nobody can reach this step: no answers allow both it and the checks it needs',
      instead: 'let "when" here and at those checks hold together',
    });
  }
  return findings;
}

/** A way through `needs` that comes back to the step, if there is one. */
function ringOf(step: Step, needed: (step: Step) => Step[] | null): string[] | undefined {
  const ways: Step[][] = [[step]];
  const seen = new Set<string>();
  for (let way = ways.shift(); way; way = ways.shift()) {
    for (const need of needed(way.at(-1) ?? step) ?? []) {
      if (need.id === step.id) return way.map((one) => one.id);
      if (seen.has(need.id)) continue;
      seen.add(need.id);
      ways.push([...way, need]);
    }
  }
  return undefined;
}

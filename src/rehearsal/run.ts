import type { Case } from '../../shared/case.ts';
import type { Flow, Level } from '../../shared/flow.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Ask } from '../../shared/outbound.ts';
import type { Person } from '../../shared/person.ts';
import { stopPeople, stopReplace } from '../core/compile.ts';
import { stops } from '../core/flow-problem.ts';
import { believe, evidence } from '../core/infer.ts';
import { emptyCase } from '../core/reduce.ts';
import { priceIn, ratesOf, type Settings } from '../core/settings.ts';
import { step, tablesOf } from '../core/step.ts';
import type { Truth } from './truth.ts';

/** One simulated case, from the first word to its end, through the very turns that a real one takes. */
export interface CaseResult {
  readonly solved: boolean;
  /** In the community's currency: minutes, waiting, parts, and whoever takes over or replaces it. */
  readonly cost: number;
  readonly minutes: number;
  readonly questions: number;
  readonly waits: number;
  readonly waitMinutes: number;
  readonly wastedParts: number;
  readonly aboveLevel: number;
  readonly end: 'fixed' | 'people' | 'replace';
}

type Content<I = Inbound> = I extends Inbound ? Omit<I, 'id' | 'thread' | 'at' | 'by'> : never;

/** More turns than this is a bug in the conversation; it is reported as one. */
const mostTurns = 400;

export interface Watch {
  /** Called before each turn; measures hang here. */
  readonly turn?: (kase: Case, inbound: Inbound) => void;
}

export function runCase(
  flow: Flow,
  settings: Settings,
  truth: Truth,
  level: Level,
  watch: Watch = {},
): CaseResult {
  const tables = tablesOf(flow, settings);
  const trust = settings.community.reliability[level];
  const rates = ratesOf(settings.community);
  const person: Person = { id: 'owner', name: 'owner', level, roles: [] };
  let at = 0;
  let kase = emptyCase('rehearsal');
  let cured = false;
  let minutes = 0;
  let questions = 0;
  let waits = 0;
  let waitMinutes = 0;
  let aboveLevel = 0;
  const times = new Map<string, number>();
  const bought: { step: string; mends: boolean }[] = [];

  let inbound: Inbound | null = envelope({ kind: 'opened', words: '', place: '' });
  for (let turns = 0; inbound !== null; turns++) {
    if (turns > mostTurns) throw new Error(`A rehearsed case did not end within ${mostTurns} turns.`);
    watch.turn?.(kase, inbound);
    const { events, outbound, after }: ReturnType<typeof step> = step(kase, inbound, flow, settings);
    kase = after;
    for (const event of events) {
      if (event.kind === 'rested') {
        waits++;
        waitMinutes += (event.due - event.at) / 60_000;
      }
    }
    if (kase.state === 'settled' || kase.state === 'with people') break;
    const ask = outbound.findLast((one) => one.kind === 'ask');
    if (kase.rest && kase.question === null) {
      at = kase.rest.due;
      inbound = envelope({ kind: 'rang', key: kase.rest.key });
    } else {
      inbound = ask ? respond(ask) : null;
    }
  }
  if (kase.state !== 'settled' && kase.state !== 'with people') {
    throw new Error(
      `A rehearsed case stopped short of an end: ${JSON.stringify({ state: kase.state, question: kase.question, inbound })}`,
    );
  }

  const end =
    kase.state === 'with people' ? 'people' : kase.outcome?.outcome === 'Fixed' ? 'fixed' : 'replace';
  const parts = bought.reduce((sum, { step: id }) => {
    const part = flow.remedies.find((remedy) => remedy.id === id)?.part;
    return sum + (part ? priceIn(settings.community, part.price) : 0);
  }, 0);
  const stopCost =
    end === 'fixed'
      ? 0
      : (stops(tables, settings)[end === 'people' ? stopPeople : stopReplace]?.cost[truth.fault] as number);
  return {
    solved: solved(),
    cost: minutes * rates.minute + waitMinutes * rates.wait + parts + stopCost,
    minutes,
    questions,
    waits,
    waitMinutes,
    wastedParts: bought.filter(({ mends }) => !mends).length,
    aboveLevel,
    end,
  };

  function envelope(what: Content): Inbound {
    return { id: `${at}`, thread: 'rehearsal', at, by: person, ...what };
  }

  /** Works again; or named well enough; or, for something else, with people. */
  function solved(): boolean {
    if (end === 'fixed') return cured;
    if (tables.faults[truth.fault] === 'something-else') return end === 'people';
    const { faults } = believe(tables.prior, evidence(tables, kase.answers, settings.community.reliability));
    const own = faults[truth.fault] as number;
    const groups = flow.remedies
      .map((remedy) => tables.cures.get(remedy.id) as Float64Array)
      .filter((cures) => (cures[truth.fault] as number) >= 0.5)
      .map((cures) => faults.reduce((sum, p, f) => sum + ((cures[f] as number) >= 0.5 ? p : 0), 0));
    return Math.max(own, ...groups) >= 0.8;
  }

  function respond(ask: Ask): Inbound {
    questions++;
    minutes += ask.minutes;
    at += Math.max(1, Math.round(ask.minutes)) * 60_000;
    aboveLevel += isAbove(flow, ask, level) ? 1 : 0;
    const choose = (answer: string): Inbound => envelope({ kind: 'chose', answer, of: ask.key });
    const again = times.get(ask.step) ?? 0;
    times.set(ask.step, again + 1);
    switch (kase.question?.kind) {
      case 'complaint':
        return choose(truth.complaint ?? 'other');
      case 'detail':
        return choose(answerDetail(ask.step));
      case 'level':
        return choose(level === 'new' ? 'new' : 'handy');
      case 'meter':
        return choose(level === 'new' ? 'no' : 'yes');
      case 'unplug':
        return choose('unplugged');
      case 'open':
        return choose('opened');
      case 'prove':
        if (!ask.reading) return choose('done');
        return envelope({
          kind: 'measured',
          reading: ask.step.startsWith('known-source') ? '1.55 V' : '0.3 V',
        });
      case 'shut':
        return choose('shut');
      case 'live':
        return choose('agreed');
      case 'check': {
        const table = tables.checks.get(ask.step);
        const count = table?.outcomes.length ?? 0;
        const seen = truth.reported(ask.step, truth.outcome(ask.step), count, trust, again);
        return table?.reading
          ? envelope({
              kind: 'measured',
              reading: shown(truth.value(ask.step, seen), table.reading.model.unit),
            })
          : choose(table?.outcomes[seen] ?? 'unsure');
      }
      case 'part':
        bought.push({ step: ask.step, mends: (tables.cures.get(ask.step)?.[truth.fault] ?? 0) >= 0.5 });
        return choose('have');
      case 'do':
        if (truth.cures(ask.step, again)) cured = true;
        return choose(ask.choices.some((choice) => choice.id === 'done') ? 'done' : cured ? 'works' : 'no');
      case 'test':
        return choose(cured ? 'works' : 'no');
      case 'closing':
        // What is measured at the end changes neither what it was nor what it cost to find it.
        return choose('none');
      case 'replace':
        return choose('recycle');
      default:
        throw new Error(`The rehearsal has no answer to ${ask.step}.`);
    }
  }

  /** Among the answers that forbid nothing: an owner whose set may be opened, the case that a rehearsal is about. */
  function answerDetail(id: string): string {
    const choices = flow.details.find((one) => one.id === id)?.choices ?? [];
    const free = choices.filter((choice) => !choice.limit && !choice.stop);
    return truth.detail(
      id,
      (free.length > 0 ? free : choices).map((choice) => choice.id),
    );
  }
}

/** As a meter of four digits shows it; never a power of ten, never a bare 1, which old meters show for "over range". */
function shown(value: number, unit: string): string {
  const before = Math.max(1, Math.floor(Math.log10(Math.max(Math.abs(value), 1e-12))) + 1);
  return `${value.toFixed(Math.max(1, 4 - before))} ${unit}`;
}

/** Worked out here anew, so that the gate is not its own judge: inside needs handy, inside with power on needs trained. */
export function isAbove(flow: Flow, ask: Ask, level: Level): boolean {
  const may = { new: 0, handy: 1, trained: 2 }[level];
  const check = flow.checks.find((step) => step.id === ask.step);
  const step = check ?? flow.remedies.find((remedy) => remedy.id === ask.step);
  const stage = flow.access.some((access) => access.id === ask.step);
  const needs =
    stage || ask.phase === 'open'
      ? 1
      : !step || step.access === 'outside'
        ? 0
        : check?.power === 'on'
          ? 2
          : 1;
  const least = step?.least ? { new: 0, handy: 1, trained: 2 }[step.least] : 0;
  return may < Math.max(needs, least);
}

import type { Answer, Case, Event } from '../../shared/case.ts';
import type { Check, Flow, Level, Remedy, Tier } from '../../shared/flow.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Ask, Outbound } from '../../shared/outbound.ts';
import type { RedFlag } from '../../shared/red-flag.ts';
import { readRedFlags } from '../../src/core/words/red-flags.ts';

/**
 * A second opinion on every turn, worked out from what was asked and who answered what, and from the flow's own fields.
 * It shares no code with the gate: what it holds for true about the appliance is what a person in the room would know.
 * Only the reader of danger words is taken from the core; it has its own tests.
 */

const minute = 60_000;
const day = 24 * 60 * minute;

/** What a question is about, as far as danger goes. */
export interface Asked {
  readonly kind:
    | 'look-up'
    | 'step'
    | 'part'
    | 'open'
    | 'prove'
    | 'shut'
    | 'live-terms'
    | 'test'
    | 'flag'
    | 'afterwards';
  readonly step: string;
}

interface Clocked {
  readonly by: string;
  readonly at: number;
  readonly demonstration: boolean;
}

export interface Turn {
  readonly before: Case;
  readonly inbound: Inbound;
  readonly events: readonly Event[];
  readonly outbound: readonly Outbound[];
  readonly after: Case;
}

export interface Oracle {
  /** Everything wrong with this turn, in sentences; empty when all is well. */
  turn(turn: Turn): string[];
  /** From here on the flow's file is this one. */
  corrected(to: Flow): void;
  /** Why this may not be asked as things stand; null when it may. */
  objection(asked: Asked, at: number, demonstration: boolean): string | null;
}

/** What may follow from a timer, from a message that was lost, and from the danger words of somebody who only shares the desk's name. */
const also: readonly Event['kind'][] = ['flow-changed', 'handed-over', 'put', 'follow-up-set'];
const timely = new Set<Event['kind']>([...also, 'woken', 'rested', 'doubted', 'settled', 'follow-up-due']);
const lost = new Set<Event['kind']>(also);
const overheard = new Set<Event['kind']>([
  ...also,
  'noted',
  'flagged',
  'alarmed',
  'rested',
  'doubted',
  // Danger in answer to how it is now takes the case up, whoever tells of it.
  'taken-up-again',
  'undone',
]);
/** From ten to seven in the evening, UTC, as the community of the tests has it. */
const civil = { from: 10, to: 19 };

const ranks: Readonly<Record<Tier, number>> = { outside: 0, cold: 1, live: 2 };
const own: Readonly<Record<Level, number>> = { new: 0, handy: 1, trained: 2 };
const yes = new Set('yes y yep yeah ok okay done sure right correct ja si oui'.split(' '));
const no = new Set('no n nope nothing nein wrong'.split(' '));

/** A flow as the oracle reads it. */
function reading(flow: Flow) {
  const steps = new Map<string, Check | Remedy>([...flow.checks, ...flow.remedies].map((s) => [s.id, s]));
  const checks = new Map(flow.checks.map((check) => [check.id, check]));
  const proofPoints =
    flow.energy.stores === 'capacitors'
      ? ['known-source-before', ...flow.energy.points.map(({ id }) => id), 'known-source-after']
      : flow.energy.stores === 'none'
        ? []
        : flow.energy.proof.map(({ id }) => id);
  const wait = flow.energy.stores === 'none' ? 0 : flow.energy.wait_minutes * minute;
  return { flow, steps, checks, proofPoints, wait };
}

export function newOracle(began: Flow): Oracle {
  let { flow, steps, checks, proofPoints, wait } = reading(began);

  // What is true in the room, and what was said about people.
  let asker = '';
  let hands = '';
  const vouched = new Map<string, Level | null>();
  let stated: { seq: number; person: string; level: Level }[] = [];
  let meters: { seq: number; person: string; has: boolean }[] = [];
  let details: { seq: number; detail: string; choice: string }[] = [];
  let clearance: { tier: Tier; person: string } | null = null;
  let plug: Clocked | null = null;
  let readings: (Clocked & { point: string; value: number })[] = [];
  let proof: (Clocked & { first: number }) | null = null;
  let open: string[] = [];
  /** Everything that still stands, as the case has it. */
  let told: readonly Answer[] = [];
  const seen = new Set<number>();

  let agreed: { step: string; by: string } | null = null;
  // What stands on the screen.
  const asks = new Map<string, Ask>();
  let screen: Ask | null = null;
  // Danger.
  const flags = new Set<RedFlag>();
  const doubts = new Set<RedFlag>();
  let alarm = false;
  const timers = new Map<string, number>();
  // What the desk asked after by itself: how often, by what it was about; and whether it may.
  const chased = new Map<string, number>();
  let quiet = false;
  let hour: number | null = null;
  let everDemonstration = false;
  let news = false;
  let sequence = 0;

  const unprove = (): void => {
    readings = [];
    proof = null;
    agreed = null;
  };
  const unseen = (): void => {
    unprove();
    plug = null;
  };
  const level = (): Level => {
    const known = vouched.get(hands);
    if (known) return known;
    const said = stated.findLast((one) => one.person === hands);
    return said?.level === 'handy' ? 'handy' : 'new';
  };
  const tier = (): number => {
    const mine = own[level()];
    return clearance !== null && clearance.person === hands && ranks[clearance.tier] === mine + 1
      ? mine + 1
      : mine;
  };
  const stages = (access: string): string[] => {
    const way: string[] = [];
    for (let at: string | undefined = access; at !== undefined && at !== 'outside'; ) {
      way.unshift(at);
      at = flow.access.find((stage) => stage.id === at)?.behind;
    }
    return way;
  };
  const powered = ({ kind, step }: Asked): boolean => {
    if (kind === 'test') return true;
    if (kind !== 'step') return false;
    const check = checks.get(step);
    return check ? check.power !== 'off' : steps.get(step)?.access === 'outside';
  };

  /** Which of the appliance's limits a person's answers have set, or not yet excluded. */
  const limited = (way: readonly string[], live: boolean): string | null => {
    for (const detail of flow.details) {
      if (!detail.choices.some((choice) => choice.limit)) continue;
      const said = details.findLast((one) => one.detail === detail.id);
      if (!said) return `nobody knows yet: ${detail.id}`;
      const limit = detail.choices.find((choice) => choice.id === said.choice)?.limit;
      if (limit?.live === 'never' && live) return `never live: ${said.choice}`;
      if (limit?.deepest !== undefined) {
        const allowed = stages(limit.deepest);
        if (way.some((stage) => !allowed.includes(stage))) return `never opened: ${said.choice}`;
      }
    }
    return null;
  };

  /** What was found, or could not be told, that makes it dangerous to switch on, and was not put right since. */
  const dangerous = (asked: Asked): string | null => {
    for (const check of checks.values()) {
      const given = told.findLast(
        (one) => (one.kind === 'answered' || one.kind === 'read') && one.step === check.id,
      );
      const aside = told.findLast((one) => one.kind === 'set-aside' && one.step === check.id);
      const toolless = aside?.kind === 'set-aside' && (aside.why === 'unsure' || check.tools.length === 0);
      const at = given ?? (toolless ? aside : undefined);
      if (!at) continue;
      let from = -Infinity;
      const findings: { id: string; unsafe?: { until: string[] } | undefined; hit: boolean }[] = [];
      for (const { id, unsafe } of check.outcomes ?? [])
        findings.push({ id, unsafe, hit: given?.kind === 'answered' && given.outcome === id });
      for (const { id, unsafe, below } of check.reading?.bands ?? []) {
        const to = typeof below === 'number' ? below : Infinity;
        const inside = given?.kind === 'read' && given.value >= from && given.value < to;
        findings.push({ id, unsafe, hit: inside || (given?.kind === 'answered' && given.outcome === id) });
        from = to;
      }
      for (const { id, unsafe, hit } of findings) {
        if (!unsafe || (given && !hit) || unsafe.until.includes(asked.step)) continue;
        const mended = told.some(
          (one) => one.kind === 'remedy-done' && one.seq > at.seq && unsafe.until.includes(one.step),
        );
        if (!mended) return `${check.id} was ${given ? id : 'not told'}`;
      }
    }
    return null;
  };
  /** A detail that ends the desk's part, answered so or not to be told. */
  const ended = (): string | null => {
    for (const { id, choices } of flow.details) {
      const said = details.findLast((one) => one.detail === id);
      const aside = told.some((one) => one.kind === 'set-aside' && one.step === id);
      const ends = choices.filter(({ stop }) => stop !== undefined);
      if (said ? ends.some((choice) => choice.id === said.choice) : aside && ends.length > 0) return id;
    }
    return null;
  };

  const plugOut = (at: number, demonstration: boolean): string | null => {
    if (plug === null) return 'the plug is in, or nobody knows';
    if (plug.by !== hands) return 'somebody else pulled the plug';
    if (plug.demonstration && !demonstration) return 'unplugged on a demonstration clock only';
    if (at < plug.at + wait) return 'the wait is not over';
    return null;
  };
  const proven = (at: number, demonstration: boolean): string | null => {
    if (proofPoints.length === 0) return null;
    if (proof === null) return 'not proven discharged';
    if (proof.by !== hands) return 'proven by somebody else';
    if (proof.demonstration !== demonstration) return 'proven on another clock';
    if (at < proof.at || at - proof.at >= day) return 'the proof is older than a day, or lies in the future';
    if (plug && proof.first < plug.at + wait) return 'measured before the wait was over';
    return null;
  };

  /** Whether an answer is about something that the flow has. */
  const knows = (answer: Answer): boolean => {
    const outcomes = (step: string): string[] => {
      const check = checks.get(step);
      return (check?.outcomes ?? check?.reading?.bands ?? []).map(({ id }) => id);
    };
    const parts = flow.remedies.filter(({ part }) => part).map(({ id }) => id);
    const remedies = flow.remedies.map(({ id }) => id);
    switch (answer.kind) {
      case 'complaint-stated':
        return ['other', ...flow.complaints.map(({ id }) => id)].includes(answer.complaint);
      case 'detail-stated':
        return flow.details.some(
          ({ id, choices }) => id === answer.detail && choices.some((choice) => choice.id === answer.choice),
        );
      case 'answered':
        return outcomes(answer.step).includes(answer.outcome);
      case 'read':
        return checks.get(answer.step)?.reading !== undefined;
      case 'set-aside':
        return answer.why === 'cannot' || answer.why === 'unsure'
          ? ['outside', 'level', 'meter'].includes(answer.step) ||
              steps.has(answer.step) ||
              [...flow.details, ...flow.access].some(({ id }) => id === answer.step)
          : parts.includes(answer.step);
      case 'part-ordered':
      case 'part-arrived':
        return parts.includes(answer.step);
      case 'remedy-done':
        return remedies.includes(answer.step);
      case 'tested':
        return answer.remedies.every((id) => remedies.includes(id));
      default:
        return true;
    }
  };

  function objection(asked: Asked, at: number, demonstration: boolean): string | null {
    // Danger is no guide's, and neither is whether it still works.
    const anyway = asked.kind === 'flag' || asked.kind === 'afterwards';
    if (flow.flow !== began.flow && !anyway) return 'the guide is gone';
    if (asked.kind !== 'flag') {
      if (flags.size > 0) return `a red flag is open: ${[...flags].join()}`;
      if (doubts.size > 0) return `in doubt about ${[...doubts].join()}`;
      if (alarm) return 'the danger button was tapped';
    }
    const ends = ['flag', 'look-up', 'shut', 'afterwards'].includes(asked.kind) ? null : ended();
    if (ends) return `${ends} is for people`;
    if (powered(asked)) {
      const danger = dangerous(asked);
      if (danger) return `power, though ${danger}`;
    }
    const step = steps.get(asked.step);
    const known = asked.kind === 'step' || asked.kind === 'part' || asked.kind === 'live-terms';
    if (known && !step) return `no such step: ${asked.step}`;
    const way =
      asked.kind === 'open'
        ? stages(asked.step)
        : asked.kind === 'prove'
          ? stages(flow.access[0]?.id ?? 'outside')
          : known
            ? stages(step?.access ?? 'outside')
            : [];
    const isLive =
      (asked.kind === 'step' || asked.kind === 'live-terms') &&
      checks.get(asked.step)?.power === 'on' &&
      way.length > 0;
    const inside = way.length > 0;
    const needs = isLive ? 2 : inside ? 1 : 0;
    if (tier() < needs) return `tier ${needs} is above ${level()} (${tier()})`;
    if (step?.least && known && own[level()] < own[step.least]) return `takes ${step.least}`;
    if (inside) {
      const limit = limited(way, isLive);
      if (limit) return limit;
      if (flow.energy.stores === 'capacitors' && !meters.findLast((m) => m.person === hands)?.has)
        return 'no meter';
    }
    if (inside || asked.kind === 'shut') {
      const out = plugOut(at, demonstration);
      if (out) return out;
    }
    if (inside) {
      const before = asked.kind === 'open' ? way.slice(0, -1) : way;
      const shut = before.find((stage) => !open.includes(stage));
      if (shut !== undefined) return `${shut} is still closed`;
      const first = asked.kind === 'prove' || (asked.kind === 'open' && way.length === 1);
      const dead = first ? null : proven(at, demonstration);
      if (dead) return dead;
    }
    if (asked.kind === 'shut' && open.length > 1) {
      const dead = proven(at, demonstration);
      if (dead) return dead;
    }
    if (isLive && asked.kind === 'step' && (agreed?.step !== asked.step || agreed.by !== hands))
      return 'nobody said yes to this live step';
    if (powered(asked) && !inside && open.length > 0) return `power with ${open.join()} open`;
    return null;
  }

  /** Whether this person gave this very answer to what stands on the screen. */
  function answered(inbound: Inbound, before: Case, step: string, id: string): boolean {
    if (screen === null || screen.step !== step) return false;
    if (inbound.kind === 'chose')
      return inbound.answer === id && (inbound.of === undefined || inbound.of === screen.key);
    if (inbound.kind !== 'said' && inbound.kind !== 'opened') return false;
    const words = plain(inbound.words);
    const label = screen.choices.find((choice) => choice.id === id)?.label ?? '';
    if (words === id || words === plain(label)) return true;
    if (yes.has(words)) {
      if (before.guess === id) return true;
      // Live work takes a plain yes.
      if (id === 'agreed' && words !== 'yes') return false;
      return /^yes\b/i.test(label) || screen.choices.length === 1;
    }
    return no.has(words) && /^no\b/i.test(label);
  }

  function happened(event: Event, inbound: Inbound, before: Case, wrong: (what: string) => void): void {
    const said = (step: string, id: string): void => {
      if (!answered(inbound, before, step, id)) wrong(`${event.kind}: nobody answered ${id} to ${step}`);
      if (event.by !== hands) wrong(`${event.kind} by ${event.by}, but the hands are ${hands}'s`);
    };
    const clocked: Clocked = {
      by: event.by,
      at: event.at,
      demonstration: event.demonstration === true,
    };
    const roles = inbound.by.roles;
    switch (event.kind) {
      case 'opened':
        asker = event.by;
        hands = event.by;
        return;
      case 'joined': {
        const known = vouched.has(event.person);
        if (event.person !== inbound.by.id || (inbound.by.level ?? null) !== event.level)
          wrong('joined with a level that the platform did not vouch for');
        vouched.set(event.person, event.level);
        if (known && event.person === hands) unprove();
        return;
      }
      case 'flow-changed':
        if (event.flow !== flow.flow || event.version !== flow.version) wrong('follows another flow');
        if (!news) wrong('corrected again for nothing');
        news = false;
        for (const answer of before.answers) {
          const dropped = event.dropped.includes(answer.seq);
          if (answer.kind !== 'tested' && knows(answer) === dropped)
            wrong(`${answer.kind} ${answer.seq} ${dropped ? 'was dropped' : 'was kept'}`);
        }
        details = details.filter(({ seq }) => !event.dropped.includes(seq));
        unprove();
        return;
      case 'level-stated':
        if (event.stated === 'trained') wrong('trained by a tap');
        if (event.stated === 'handy') said('level', 'handy');
        if (event.person !== event.by) wrong('somebody stated the level of somebody else');
        stated.push({ seq: event.seq, person: event.person, level: event.stated });
        unprove();
        return;
      case 'meter-stated':
        if (event.has) said('meter', 'yes');
        meters.push({ seq: event.seq, person: event.person, has: event.has });
        unprove();
        return;
      case 'detail-stated':
        details.push({ seq: event.seq, detail: event.detail, choice: event.choice });
        return;
      case 'undone':
        stated = stated.filter((one) => one.seq !== event.undone);
        meters = meters.filter((one) => one.seq !== event.undone);
        details = details.filter((one) => one.seq !== event.undone);
        unprove();
        return;
      case 'doubted':
        // The desk may doubt what was seen, never what was done: nothing in the room has changed.
        if (!seen.has(event.undone)) wrong('the desk took back more than something seen');
        return;
      case 'unplugged':
        said('unplug', 'unplugged');
        unprove();
        plug = clocked;
        return;
      case 'stage-opened':
        said(event.stage, 'opened');
        open = [...open, event.stage];
        return;
      case 'shut':
        said('shut', 'shut');
        open = [];
        return;
      case 'proof-read':
        if (event.by !== hands) wrong(`proof read by ${event.by}`);
        if (screen?.step !== event.point)
          wrong(`a reading for ${event.point}, but ${screen?.step} was asked`);
        if (flow.energy.stores === 'capacitors' && !typed(inbound, event.value))
          wrong(`read ${event.value}, but that was not typed`);
        readings.push({ ...clocked, point: event.point, value: event.value });
        return;
      case 'proof-dropped':
        unprove();
        return;
      case 'proven': {
        const why = sequenceFault(readings, proofPoints, flow.energy.stores === 'capacitors');
        if (why) wrong(`proven, but ${why}`);
        if (event.by !== hands || readings.some(({ by }) => by !== hands)) wrong('proven by several hands');
        if (readings.some((one) => one.demonstration !== clocked.demonstration))
          wrong('proven across two clocks');
        proof = { ...clocked, first: readings[0]?.at ?? Infinity };
        readings = [];
        agreed = null;
        return;
      }
      case 'live-agreed':
        said(event.step, 'agreed');
        if (proof === null && proofPoints.length > 0) wrong('agreed to live work before the proof');
        agreed = { step: event.step, by: event.by };
        return;
      case 'answered':
      case 'read': {
        // Whoever saw the front of it has put the back on.
        seen.add(event.seq);
        const looked = checks.get(event.step)?.power === 'look' && screen?.step === event.step;
        if (looked && event.by === hands && inbound.kind !== 'acted') open = [];
        return;
      }
      case 'taken':
        if (roles.length === 0) wrong('taken on by somebody without a role');
        if (event.hands) hands = event.by;
        unseen();
        return;
      case 'cleared': {
        const act = inbound.kind === 'acted' && inbound.act.what === 'clear' ? inbound.act : null;
        if (!act || !roles.includes('moderator')) wrong('cleared, but not by a moderator');
        if (!act?.reason.trim() || event.reason.trim() === '') wrong('cleared without a reason');
        if (event.by !== inbound.by.id || event.person !== hands) wrong('cleared for or by somebody else');
        if (ranks[event.tier] !== own[level()] + 1) wrong(`cleared ${event.tier} from ${level()}`);
        clearance = { tier: event.tier, person: event.person };
        unprove();
        return;
      }
      case 'flagged':
        if (event.sure) flags.add(event.flag);
        else doubts.add(event.flag);
        if (event.sure) doubts.delete(event.flag);
        // Named, it is no longer unknown what happened.
        if (event.sure) alarm = false;
        unseen();
        return;
      case 'alarmed':
        alarm = true;
        unseen();
        return;
      case 'all-clear':
        if (!answered(inbound, before, 'which', 'no')) wrong('all clear, but nobody said so');
        alarm = false;
        return;
      case 'unflagged': {
        const act = inbound.kind === 'acted' && inbound.act.what === 'unflag' ? inbound.act : null;
        const lifted = act !== null && roles.includes('moderator') && act.reason.trim() !== '';
        if (flags.has(event.flag) && !lifted) wrong(`${event.flag} lifted, but not by a moderator`);
        const named = inbound.kind === 'said' && plain(inbound.words).startsWith(`no ${event.flag}`);
        const denied = answered(inbound, before, event.flag, 'no') || (named && screen?.step === event.flag);
        if (!lifted && !denied) wrong(`nobody denied ${event.flag}`);
        flags.delete(event.flag);
        doubts.delete(event.flag);
        return;
      }
      case 'taken-up-again':
        quiet = false;
        unseen();
        return;
      case 'handed-over':
      case 'handed-back':
      case 'stopped':
        unseen();
        return;
      case 'follow-ups-refused':
        quiet = true;
        return;
      case 'forgotten':
        quiet = true;
        return;
      case 'hour-stated':
        if (event.by !== asker && event.by !== hands) wrong('somebody else stated when to be asked');
        hour = event.hour;
        return;
      case 'follow-up-due': {
        const thing = chasedThing(before);
        const times = (chased.get(thing) ?? 0) + 1;
        chased.set(thing, times);
        if (inbound.kind !== 'rang') wrong('it asks by itself, and no timer rang');
        if (times > 2) wrong(`asked after ${thing} ${times} times`);
        if (quiet) wrong(`asked after ${thing}, and nobody wants to be asked`);
        if (!isCivil(event.at)) wrong(`asked after ${thing} at ${new Date(event.at).toISOString()}`);
        if (before.stopped || before.state === 'with people') wrong('asked after what is not ours to ask');
        return;
      }
      case 'follow-up-set':
        if (quiet) wrong('a timer, and nobody wants to be asked');
        if (!isCivil(event.due)) wrong(`to be asked at ${new Date(event.due).toISOString()}`);
        return;
      case 'rested':
        if (event.key.startsWith('part:') && !isCivil(event.due))
          wrong(`to be asked for a part at ${new Date(event.due).toISOString()}`);
        return;
      default:
        return;
    }
  }

  const isCivil = (at: number): boolean => {
    const now = new Date(at).getUTCHours();
    return hour === null ? civil.from <= now && now < civil.to : now === hour;
  };

  function askedIn(ask: Ask): Asked {
    const { phase, step } = ask;
    if (phase === 'flag') return { kind: 'flag', step };
    if (phase === 'follow-up' && step === 'follow-up') return { kind: 'afterwards', step };
    if (phase === 'open') return { kind: 'open', step };
    if (phase === 'test') return { kind: 'test', step };
    if (phase === 'check' || phase === 'do' || phase === 'again') return { kind: 'step', step };
    if (phase === 'part') {
      const arrival = ask.choices.some(({ id }) => id === 'arrived');
      return { kind: arrival ? 'look-up' : 'part', step };
    }
    if (step === 'shut') return { kind: 'shut', step };
    if (proofPoints.includes(step)) return { kind: 'prove', step };
    if (steps.has(step)) return { kind: 'live-terms', step };
    return { kind: 'look-up', step };
  }

  function turn({ before, inbound, events, outbound, after }: Turn): string[] {
    const problems: string[] = [];
    const wrong = (what: string): void => void problems.push(what);
    const demonstration = inbound.demonstration === true;
    everDemonstration ||= events.some((event) => event.demonstration === true);
    if (inbound.kind === 'rang') timers.delete(inbound.key);

    const words = wordsOf(inbound);
    // After the end, danger is heard in answer to how it is now.
    const open = before.state !== 'settled' || before.question !== null;
    const mayFlag = open && (before.asker !== '' || inbound.kind === 'opened');
    const heard = mayFlag ? readRedFlags(words) : [];
    const news = heard.filter(({ flag, sure }) => !flags.has(flag) && (sure || !doubts.has(flag)));

    for (const event of events) {
      sequence += 1;
      if (event.seq !== sequence) wrong(`event ${event.seq} where ${sequence} was due`);
      if (event.at !== inbound.at) wrong('an event with another time than its turn');
      happened(event, inbound, before, wrong);
    }
    told = after.answers;
    if (inbound.by.id === 'desk') {
      const astray = inbound.kind === 'changed' && inbound.what === 'undelivered';
      const allowed = inbound.kind === 'rang' ? timely : astray ? lost : overheard;
      for (const { kind } of events) if (!allowed.has(kind)) wrong(`${kind}, because a desk said so`);
      if (after.people !== before.people) wrong('the desk joined');
      const open = before.asker !== '' && (before.state === 'asking' || before.state === 'resting');
      if (astray && open && after.state !== 'with people') wrong('a message was lost, and nobody looks');
    }
    for (const { flag, sure } of heard) {
      if (sure && !flags.has(flag)) wrong(`${flag} was said and not taken for sure`);
      if (!sure && !flags.has(flag) && !doubts.has(flag)) wrong(`${flag} was in doubt and not asked`);
    }
    const fresh = news.filter(({ sure }) => sure);
    if (fresh.length > 0) {
      const first = outbound.findIndex(({ kind }) => kind !== 'amend');
      if (outbound[first]?.kind !== 'warn') wrong('the warning does not come first');
      if (after.state !== 'with people') wrong('a red flag did not call people');
    }

    // At night a timer of what is asked after only moves to the morning, and so does the correction.
    const moved =
      inbound.kind === 'rang' && events.length > 0 && events.every(({ kind }) => kind === 'follow-up-set');
    if (after.asker !== '' && after.state !== 'settled' && !moved) {
      const strange = after.answers.find((answer) => !knows(answer));
      if (flow.flow !== began.flow) {
        if (after.state !== 'with people') wrong('the guide is gone, and nobody took over');
      } else if (strange) wrong(`an answer about nothing: ${JSON.stringify(strange)}`);
    }

    for (const one of outbound) {
      if ((one.mark === 'demonstration') !== everDemonstration) wrong(`${one.kind} is marked ${one.mark}`);
      if (one.kind === 'remind') timers.set(one.key, one.due);
      if (one.kind === 'unremind') timers.delete(one.key);
      if (one.kind !== 'ask') continue;
      const asked = askedIn(one);
      const why = objection(asked, inbound.at, demonstration);
      if (why) wrong(`asked ${asked.kind} ${asked.step}: ${why}`);
      const afterwards = asked.kind === 'afterwards' && after.state === 'settled';
      if (one.phase === 'follow-up' && [one.how, one.tools, one.hazards].some((list) => list.length > 0))
        wrong('asked how it went on, and told to do something');
      if (asked.kind !== 'flag' && after.state !== 'asking' && after.state !== 'resting' && !afterwards)
        wrong(`asked ${one.step} in a case that is ${after.state}`);
      asks.set(one.key, one);
      screen = one;
      if (powered(asked)) unseen();
    }
    if (after.question === null) screen = null;

    // One question open, and it stands on the screen.
    if (after.question && screen?.key !== after.question.key) wrong('the open question was never shown');
    if (after.state === 'asking' && asker !== '' && !after.question) wrong('nothing to answer');
    if (after.state === 'settled' && after.question && after.question.kind !== 'follow-up')
      wrong('a question in a settled case');
    if (after.state !== 'settled' && (alarm || doubts.size > 0) && !after.stopped) {
      const asksFlag = screen !== null && askedIn(screen).kind === 'flag';
      if (!asksFlag && flags.size === 0) wrong('in doubt, and not asked about it');
    }
    // The desk comes back when it said so, and only then.
    if (after.rest && timers.get(after.rest.key) !== after.rest.due) wrong(`no timer for ${after.rest.key}`);
    const { followUp } = after;
    if (followUp && followUp.due !== null && timers.get(followUp.key) !== followUp.due)
      wrong(`no timer for ${followUp.key}`);
    const waitsFor = new Set([after.rest?.key, followUp?.due != null ? followUp.key : undefined]);
    for (const key of timers.keys()) if (!waitsFor.has(key)) wrong(`a timer for nothing: ${key}`);
    if (followUp && (quiet || after.stopped || after.state === 'with people'))
      wrong(`${after.state}, and it still means to ask`);
    if (after.state === 'resting' && !after.rest && !after.stopped) wrong('resting until never');
    if (after.state !== 'resting' && after.rest) wrong(`${after.state}, and still a rest`);
    return problems;
  }

  function corrected(to: Flow): void {
    ({ flow, steps, checks, proofPoints, wait } = reading(to));
    news = true;
  }

  return { turn, corrected, objection };
}

/** What the case, as the timer found it, would be asked after. */
function chasedThing({ state, outcome, question, rest, answers }: Case): string {
  if (state === 'settled') return `the end at ${outcome?.at}`;
  const step = question?.kind === 'arrival' ? question.step : rest?.key.replace('part:', '');
  if (step !== undefined)
    return `order ${answers.findLast((one) => one.kind === 'part-ordered' && one.step === step)?.seq}`;
  return `question ${question?.key}`;
}

/** Why these readings prove nothing; null when they prove it. Bounds as the design states them; drift 10 %, 1.1 V to 15 V: common practice, no source. */
function sequenceFault(
  readings: readonly { point: string; value: number }[],
  points: readonly string[],
  metered: boolean,
): string | null {
  // A reading that did not count is not an event, so the points come exactly in order.
  if (readings.map(({ point }) => point).join() !== points.join())
    return `the points were ${readings.map(({ point }) => point).join() || 'none'}`;
  if (!metered) return null;
  const volts = readings.map(({ value }) => Math.abs(value));
  const [first, last] = [volts[0] as number, volts.at(-1) as number];
  if (first < 1.1 || first > 15) return `the known source showed ${first} V`;
  if (Math.abs(last - first) > 0.1 * first) return `the known source went from ${first} V to ${last} V`;
  const charged = volts.slice(1, -1).find((value) => value >= 10);
  return charged === undefined ? null : `${charged} V is not under 10 V`;
}

const plain = (words: string): string =>
  words
    .toLowerCase()
    .replaceAll('’', "'")
    .replace(/[.,;:!?"“”]+/g, ' ')
    .replace(/\s+/g, ' ')
    .trim();

function wordsOf(inbound: Inbound): string {
  switch (inbound.kind) {
    case 'opened':
    case 'said':
      return inbound.words;
    case 'changed':
      return inbound.words ?? '';
    case 'measured':
      return inbound.reading;
    default:
      return '';
  }
}

/** A number that stands in what was typed, read the plain way. */
function typed(inbound: Inbound, value: number): boolean {
  const text = wordsOf(inbound)
    .replace(/[\u0660-\u0669]/g, (digit) => String(digit.charCodeAt(0) - 0x660))
    .replace(/[,\u066b]/, '.');
  const found = /-?\d+(?:\.\d+)?/.exec(text);
  if (!found) return false;
  const scale = /mv\b/i.test(text) ? 1e-3 : /kv\b/i.test(text) ? 1e3 : 1;
  return Math.abs(Number(found[0]) * scale - value) < 1e-9;
}

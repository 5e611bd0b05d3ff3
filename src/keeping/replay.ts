import { parseArgs } from 'node:util';
import type { Case, Event } from '../../shared/case.ts';
import { Community } from '../../shared/community.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Inbound } from '../../shared/inbound.ts';
import { answersShown, choiceWords, figures, inTheRoom, openNow, suspects } from '../core/explain.ts';
import { look, type View } from '../core/next.ts';
import { noGuide } from '../core/no-guide.ts';
import { emptyCase, fold } from '../core/reduce.ts';
import { personOf } from '../core/safety.ts';
import type { Settings } from '../core/settings.ts';
import { step, tablesOf } from '../core/step.ts';
import { unchosen } from '../core/unchosen.ts';
import { counted, type Desk, dated } from './desk.ts';
import { printable } from './printable.ts';
import { type Report, readReport } from './read-report.ts';
import { numbered } from './replay-numbers.ts';
import { programVersion, type ReportHeader, sumOf } from './report-format.ts';
import { eventLine, messageLines } from './told.ts';

/** Reads a report, tells what happened, and sees whether the same case comes out. */

const usage = `replay FILE           what happened in a reported case, and where it stands
replay FILE --to N    as it stood after event N`;

export interface ReplayDesk extends Pick<Desk, 'out' | 'err'> {
  readonly flows: readonly Flow[];
}

/** Resolves to the exit code: 1 when another case comes out than the reported one. Throws `Advice`. */
export async function replayCommand(args: readonly string[], desk: ReplayDesk): Promise<number> {
  const given = options(args);
  if (!given) {
    desk.err(usage);
    return 2;
  }
  const report = await readReport(given.file);
  const tell = (lines: readonly string[]): void => {
    for (const line of lines) desk.out(printable(line));
  };
  const events = report.events.slice(0, given.to ?? report.events.length);
  const kase = fold(emptyCase(report.header.thread), events);
  const settings = settingsOf(report.header, kase);
  const { flow, told } = numbered(flowOf(report.header, kase, desk.flows), kase, report.header, settings);
  tell([...headerLines(report, flow), ...told, '']);
  tell(events.map((event) => eventLine(event, flow ?? noGuide(kase.flow ?? 'no flow'))));
  if (events.length < report.events.length)
    tell([`Stopped after event ${events.length} of ${report.events.length}.`]);
  tell(standing(kase, flow, settings, events.at(-1)));

  const sum = sumOf(fold(emptyCase(report.header.thread), report.events));
  if (sum === report.sha256) {
    tell(['', 'The same case comes out, byte for byte.']);
    return 0;
  }
  desk.err(
    printable(
      `Another case comes out: its sum is ${sum}, and the report says ${report.sha256}. The report is of program ${report.header.program}, this is ${programVersion()}.`,
    ),
  );
  return 1;
}

function options(args: readonly string[]): { readonly file: string; readonly to: number | null } | null {
  try {
    const { values, positionals } = parseArgs({
      args: [...args],
      allowPositionals: true,
      options: { to: { type: 'string' } },
    });
    const [file, more] = positionals;
    if (!file || more !== undefined) return null;
    if (values.to === undefined) return { file, to: null };
    return /^[1-9]\d{0,6}$/.test(values.to) ? { file, to: Number(values.to) } : null;
  } catch {
    return null;
  }
}

/** Null: not here. A case that has none yet is led by the one it got later, else by the only one there is. */
function flowOf(header: ReportHeader, kase: Case, flows: readonly Flow[]): Flow | null {
  const id = kase.flow ?? header.flow?.flow ?? null;
  if (id !== null) return flows.find(({ flow }) => flow === id) ?? null;
  return (flows.length > 1 ? unchosen : flows[0]) ?? null;
}

function settingsOf({ community, budget }: ReportHeader, { flow, numbers }: Case): Settings {
  const people = [{ name: 'people to turn to', what: 'The report does not name them.' }];
  return {
    community: Community.parse({ name: 'a community', people, ...community }),
    budget,
    // As it went by them, whether they are here or not: nothing has changed under it.
    numbers: new Map(flow === null || numbers === 'file' ? [] : [[flow, numbers]]),
  };
}

function headerLines({ header, events }: Report, flow: Flow | null): string[] {
  const { program, made, words, community } = header;
  return [
    `A report of ${dated(made)} by program ${program}${program === programVersion() ? '' : ` (this is ${programVersion()})`}: ${counted(events.length, 'event')}, ${words ? 'with words' : 'without words'}. ${community.country.code}, ${community.currency}.`,
    ...flowLines(header, flow),
  ];
}

function flowLines({ flow: reported }: ReportHeader, flow: Flow | null): string[] {
  if (!reported) return ['No flow was taken yet.'];
  const { flow: id, version, follows } = reported;
  const versions = `begun with version ${version}, then read by version ${follows}`;
  if (!flow)
    return [`Flow ${id}, ${versions}. It is not here: there is no belief, no plan and no next question.`];
  return flow.version === follows
    ? [`Flow ${id}, ${versions}.`]
    : [`Flow ${id}, ${versions}. Here it is version ${flow.version}: what comes next may be something else.`];
}

function standing(kase: Case, flow: Flow | null, settings: Settings, last: Event | undefined): string[] {
  const at = last?.at ?? 0;
  const lines = ['', `The case is ${kase.state}${kase.stopped ? ', stopped' : ''}.`];
  const known = flow ?? noGuide(kase.flow ?? 'no flow');
  const view = look(kase, tablesOf(known, settings), settings, at, kase.demonstration);
  const part = (title: string, work: () => readonly string[]): void => {
    const said = tried(work).flatMap((line) => line.split('\n'));
    lines.push('', title, ...said.map((line) => `  ${line}`));
  };
  part('Open:', () => [kase.question ? `${kase.question.key}: ${openNow(view)}` : openNow(view)]);
  part('Answers:', () => answersShown(kase, known).map(({ seq, words }) => `${seq}  ${words}`));
  part('In the room:', () => [...inTheRoom(view), JSON.stringify(kase.world)]);
  if (!flow) return lines;
  part('Belief:', () =>
    suspects(view).map(({ fault, share }) => `${(share * 100).toFixed(2).padStart(6)} %  ${fault}`),
  );
  part('Plan:', () => planLines(view, flow));
  part('What would come next:', () => nextLines(kase, flow, settings, at));
  return lines;
}

/** A report may be of the very mistake that stops this. */
function tried(work: () => readonly string[]): readonly string[] {
  try {
    return work();
  } catch (cause) {
    return [`It cannot be worked out: ${cause instanceof Error ? (cause.stack ?? cause.message) : cause}`];
  }
}

function planLines(view: View, flow: Flow): string[] {
  const { plan, compiled } = view.plan();
  const { cost, minutes, wait, money, chance, currency } = figures(view);
  return [
    `${choiceWords(plan.choice, compiled.steps, flow)}: ${cost} ${currency} in all, ${minutes} minutes, ${wait} waiting, ${money} ${currency}; it works again with ${(chance * 100).toFixed(1)} %`,
    ...plan.rivals.map(
      ({ choice, cost: other }) =>
        `or ${choiceWords(choice, compiled.steps, flow)}: ${other.toFixed(2)} ${currency}`,
    ),
  ];
}

/** What the desk would say to the asker who asks where it goes on; nothing is taken up again for it. */
function nextLines(kase: Case, flow: Flow, settings: Settings, at: number): string[] {
  if (kase.asker === '' || kase.state === 'settled' || kase.stopped)
    return ['Nothing, until somebody writes.'];
  const known = personOf(kase, kase.asker);
  const inbound: Inbound = {
    kind: 'asked',
    what: 'again',
    id: 'replay',
    thread: kase.id,
    at,
    by: {
      id: kase.asker,
      name: known?.name ?? '',
      roles: known?.roles ?? [],
      ...(known?.level ? { level: known.level } : {}),
    },
    ...(kase.demonstration ? { demonstration: true as const } : {}),
  };
  const { events, outbound } = step(kase, inbound, flow, settings);
  return [...events.map((event) => eventLine(event, flow).trim()), ...outbound.flatMap(messageLines)];
}

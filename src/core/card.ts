import type { Answer, Case } from '../../shared/case.ts';
import type { Outbound } from '../../shared/outbound.ts';
import { localTime } from './civil-hour.ts';
import { closingLines } from './closing-words.ts';
import { earlierLines } from './earlier-words.ts';
import { answersShown, answerWords, inTheRoom, openNow, suspects } from './explain.ts';
import { flagWords } from './flag-words.ts';
import { aftermathWords } from './follow-up-words.ts';
import { timesDone } from './history.ts';
import type { View } from './next.ts';
import { outcomeLines } from './outcome-words.ts';
import { detailOf, levelOf, personOf } from './safety.ts';
import { priceIn } from './settings.ts';
import { isUnchosen } from './unchosen.ts';
import { chanceWords, inline, listWords, moneyWords, sentence } from './wording.ts';

/** The job card: one page in Markdown, for somebody who has never seen the thread. */
export function jobCard(view: View, next: string | null): string {
  const { kase, tables, settings } = view;
  const { flow } = tables;
  const lines: string[] = [`# Job card: ${flow.title}`, ''];
  const add = (title: string, items: readonly string[]): void => {
    if (items.length > 0) lines.push(`## ${title}`, '', ...items.map((item) => `- ${item}`), '');
  };

  if (kase.demonstration) lines.push('**Demonstration: a wait was skipped. This card proves nothing.**', '');
  add(
    'Danger',
    kase.flags.map(({ flag, words }) => {
      const name = `**${sentence(flagWords[flag].name)}**`;
      return words === '' ? name : `${name}: “${plain(words)}”`;
    }),
  );
  add('Outcome', [...outcomeLines(view), ...askedAgain(view)]);
  add('Electrical test', closingLines(kase, flow, settings));
  add('In the owner’s words', ownWords(kase.words));
  add('About the appliance', aboutIt(view));
  add(
    'Seen, measured and tried',
    answersShown(kase, flow)
      .map(({ words }) => words)
      .filter((_, i) => {
        const answer = kase.answers[i];
        return answer !== undefined && !toldElsewhere.has(answer.kind) && !toldByTest(answer, kase);
      }),
  );
  const fixed = kase.outcome?.outcome === 'Fixed';
  // What it was stands above, once it works or somebody has named it.
  const known = fixed || (kase.outcome?.fault ?? null) !== null;
  const danger = kase.flags.some((flag) => flag.sure);
  if (!known && !isUnchosen(flow)) {
    add(
      'Likely causes now',
      suspects(view)
        .slice(0, 4)
        .map(({ name, share, fault }) => {
          const tried = triedFor(fault, view);
          const mends =
            tried.length > 0
              ? `Tried already: ${listWords(tried)}.`
              : (flow.faults.find((f) => f.id === fault)?.mends ?? '');
          // The owner reads the card, too: after smoke nobody is told to plug it in elsewhere.
          return danger ? `${name}: ${chanceWords(share)}.` : `${name}: ${chanceWords(share)}. ${mends}`;
        }),
    );
  }
  if (!danger && next !== null && kase.state !== 'settled') add('What comes next', comesNext(view, next));
  if (kase.state === 'with people') add('Earlier cases like it', earlierLines(view, earlierShown));
  add('How it stands', standing(view));
  add(
    'Said by menders',
    kase.advice.map(
      (advice) => `${plain(kase.people[advice.by]?.name ?? '') || 'A mender'}: “${plain(advice.words)}”`,
    ),
  );
  if (fixed) return lines.join('\n').trimEnd();
  add(
    `People (${settings.community.name})`,
    settings.community.people.map((p) =>
      [p.name, p.what, p.when, p.where]
        .flatMap((part) => (part === undefined ? [] : [part.replace(/[.;]+$/, '')]))
        .join('; '),
    ),
  );
  return lines.join('\n').trimEnd();
}

/** What was answered when the desk asked again; who says what changed the outcome. */
function askedAgain({ kase, settings }: View): string[] {
  const { followed } = kase;
  if (followed === null) return [];
  const { day } = localTime(followed.at, settings.community.time_zone);
  const changes = followed.result === 'repaired' || followed.result === 'given-up';
  const who = changes ? `, says ${plain(personOf(kase, followed.by)?.name ?? '') || 'the owner'}` : '';
  return [`Asked again on ${day}: ${aftermathWords[followed.result]}${who}`];
}

const earlierShown = 3;

/** Remedies that were done and mostly cure this fault, by name. */
const triedFor = (fault: string, { kase, tables }: View): string[] =>
  tables.flow.remedies
    .filter(
      ({ id }) =>
        timesDone(kase, id) > 0 && (tables.cures.get(id)?.[tables.faults.indexOf(fault)] ?? 0) >= 0.5,
    )
    .map(({ name }) => inline(name));

/** Kinds of answers that have a place of their own on the card. */
const toldElsewhere: ReadonlySet<string> = new Set([
  'detail-stated',
  'level-stated',
  'meter-stated',
  'safety-tested',
]);

/** A remedy whose trial stands on the card anyway. */
const toldByTest = (answer: Answer, kase: Case): boolean =>
  answer.kind === 'remedy-done' &&
  kase.answers.some(
    (later) => later.kind === 'tested' && later.seq > answer.seq && later.remedies.includes(answer.step),
  );

/** What is known of the appliance, in the flow's order; and what was told that the flow no longer has. */
function aboutIt({ kase, tables: { flow } }: View): string[] {
  const known = flow.details.flatMap((detail) => {
    const chosen = detail.choices.find((choice) => choice.id === detailOf(kase, detail.id));
    return chosen ? [`${detail.ask} ${chosen.label}`] : [];
  });
  const unknown = kase.answers.filter(
    (answer) => answer.kind === 'detail-stated' && !flow.details.some(({ id }) => id === answer.detail),
  );
  return [...known, ...unknown.map((answer) => answerWords(answer, flow))];
}

/** The step, what can hurt in it, and the part it takes. */
function comesNext(view: View, next: string): string[] {
  const { flow } = view.tables;
  const { community } = view.settings;
  const remedy = flow.remedies.find((s) => s.id === next);
  const step = flow.checks.find((s) => s.id === next) ?? remedy;
  if (!step) return [];
  const items = [step.name, ...step.hazards.map((h) => `${h.word}: ${h.text}`)];
  if (remedy?.part) {
    const { name, match, price } = remedy.part;
    items.push(
      `Part: ${inline(name)}, about ${moneyWords(priceIn(community, price), community)} (prices seen ${price.dated}). To match: ${match.join(' ')}`,
    );
  }
  return items;
}

function standing(view: View): string[] {
  const { kase } = view;
  const items = [...inTheRoom(view), handsWords(kase)];
  if (kase.state === 'asking' || kase.state === 'resting') items.push(openNow(view));
  if (kase.clearance) {
    const { tier, reason } = kase.clearance;
    items.push(reason === '' ? `Cleared for ${tier} work.` : `Cleared for ${tier} work: ${plain(reason)}`);
  }
  if (kase.photos.length > 0) items.push(`${kase.photos.length} photo(s) in the thread.`);
  return items;
}

/** Who has it in front of them, and whether anybody vouches for that. */
function handsWords(kase: Case): string {
  const meter = kase.answers.findLast((a) => a.kind === 'meter-stated' && a.person === kase.hands);
  const told = meter?.kind === 'meter-stated' ? (meter.has ? ', with a meter' : ', without a meter') : '';
  const vouched = personOf(kase, kase.hands)?.level ? 'vouched for' : 'by their own word';
  switch (levelOf(kase)) {
    case 'new':
      return `Whoever has it is new to this and works outside only${told}.`;
    case 'handy':
      return `Whoever has it is used to working inside unplugged things (${vouched})${told}.`;
    case 'trained':
      return `Whoever has it is trained (${vouched})${told}.`;
  }
}

/** The first words and the latest, when there are many. */
function ownWords(words: readonly string[]): string[] {
  const shown = words.map((one) => `“${plain(one)}”`);
  return shown.length <= 8
    ? shown
    : [...shown.slice(0, 3), `(${shown.length - 8} more left out)`, ...shown.slice(-5)];
}

/** People's words on one line, without what Markdown would read as layout. */
function plain(words: string): string {
  const line = words
    .replace(/[\r\n]+/g, ' ')
    .replace(/[\\`*_#<>|[\]]/g, ' ')
    .replace(/\s+/g, ' ')
    .trim();
  return line.length <= 300 ? line : `${line.slice(0, 300)}…`;
}

export const cardMessage = (view: View, next: string | null): Outbound => ({
  kind: 'say',
  words: jobCard(view, next),
});

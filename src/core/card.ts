import type { Outbound } from '../../shared/outbound.ts';
import { answersShown, nameOf, suspects } from './explain.ts';
import { flagWords } from './flag-words.ts';
import type { View } from './next.ts';
import { detailOf, levelOf, proofHolds } from './safety.ts';
import { chanceWords, sentence } from './wording.ts';

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
    kase.flags.map(({ flag, words }) => `**${sentence(flagWords[flag].name)}**: “${plain(words)}”`),
  );
  if (kase.outcome) {
    const { outcome, fault, barrier } = kase.outcome;
    add('Outcome', [
      `${outcome}${fault ? `: ${flow.faults.find((f) => f.id === fault)?.name ?? fault}` : ''}`,
      ...(barrier ? [`Barrier: ${barrier}`] : []),
    ]);
  }
  add('In the owner’s words', kase.words.map((words) => `“${plain(words)}”`).slice(0, 8));
  add(
    'About the appliance',
    flow.details.flatMap((detail) => {
      const chosen = detail.choices.find((choice) => choice.id === detailOf(kase, detail.id));
      return chosen ? [`${detail.ask} ${chosen.label}`] : [];
    }),
  );
  add(
    'Seen, measured and tried',
    answersShown(kase, flow)
      .map(({ words }) => words)
      .filter((_, i) => {
        const kind = kase.answers[i]?.kind;
        return kind !== 'detail-stated' && kind !== 'level-stated' && kind !== 'meter-stated';
      }),
  );
  add(
    'Likely causes now',
    suspects(view)
      .slice(0, 4)
      .map(({ name, share, fault }) => {
        const mends = flow.faults.find((f) => f.id === fault)?.mends ?? '';
        return `${name}: ${chanceWords(share)}. ${mends}`;
      }),
  );
  const step = flow.checks.find((s) => s.id === next) ?? flow.remedies.find((s) => s.id === next);
  if (step) add('What comes next', [`${step.name}`, ...step.hazards.map((h) => `${h.word}: ${h.text}`)]);
  add('How it stands', standing(view));
  add(
    'Said by menders',
    kase.advice.map((advice) => `${kase.people[advice.by]?.name || 'A mender'}: “${plain(advice.words)}”`),
  );
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

function standing(view: View): string[] {
  const { kase, tables, at, demonstration } = view;
  const { flow } = tables;
  const { world } = kase;
  const items = [
    world.open.length === 0
      ? 'Closed.'
      : `Open: ${world.open.map((stage) => nameOf(stage, flow)).join(', ')}. Keep hands out until it is measured.`,
  ];
  if (world.open.length > 0 && flow.energy.stores !== 'none') {
    items.push(
      proofHolds(kase, flow, at, demonstration)
        ? 'Proven discharged, as long as it stays unplugged; prove it again before you reach in.'
        : 'Not proven discharged: treat it as charged.',
    );
  }
  if (world.altered)
    items.push(`Left changed by “${nameOf(world.altered, flow)}”: put it back before it is used.`);
  items.push(`Hands on the appliance so far: level ${levelOf(kase)}.`);
  if (kase.clearance) items.push(`Cleared for ${kase.clearance.tier} work: ${plain(kase.clearance.reason)}`);
  if (kase.photos.length > 0) items.push(`${kase.photos.length} photo(s) in the thread.`);
  return items;
}

/** People's words on one line, without what Markdown would read as layout. */
const plain = (words: string): string =>
  words
    .replace(/[\r\n]+/g, ' ')
    .replace(/[\\`*_#<>|[\]]/g, ' ')
    .replace(/\s+/g, ' ')
    .trim()
    .slice(0, 300);

export const cardMessage = (view: View, next: string | null): Outbound => ({
  kind: 'say',
  words: jobCard(view, next),
});

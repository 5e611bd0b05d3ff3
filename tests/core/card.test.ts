import { expect, test } from 'vitest';
import type { Answer, Case } from '../../shared/case.ts';
import { jobCard } from '../../src/core/card.ts';
import { look } from '../../src/core/next.ts';
import { tablesOf } from '../../src/core/step.ts';
import { following, newTalk, type Talk, type Voice } from '../conversations/thread.ts';
import { people, radio, settings } from './example-flow.ts';

/** The job card, as somebody reads it who has never seen the thread. */

const dora = { ...people.asker, name: 'Dora' };

function intake(talk: Talk, level?: 'handy' | 'trained'): Voice {
  const asker = talk.as(level ? { ...dora, level } : dora);
  asker.says('It lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
  return asker;
}

function opened(talk: Talk, asker: Voice): void {
  asker.taps('light');
  asker.taps('yes');
  asker.taps('unplugged');
  talk.later(20).rings();
  asker.taps('opened');
}

function card(talk: Talk): string {
  const last = talk.sent.findLast(
    (one) => one.kind === 'say' || one.kind === 'handover' || one.kind === 'settle',
  );
  return last?.kind === 'say' ? last.words : (last?.card ?? '');
}

const section = (text: string, title: string): string =>
  text.split('\n## ').find((part) => part.startsWith(`${title}\n`)) ?? '';

test('tells nobody how to mend it after a sign of danger', () => {
  const talk = newTalk({ settings: following('knob-feel') });
  const asker = intake(talk);
  asker.says('now there is smoke coming out of it');
  expect(section(card(talk), 'Danger')).toContain('**Smoke**');
  expect(section(card(talk), 'Likely causes now')).toMatch(/^Likely causes now\n\n- A .+: \d+ %\.$/m);
  expect(card(talk)).not.toContain('Somebody sees to it');
  expect(section(card(talk), 'What comes next')).toBe('');
});

test('of a cause whose cure was tried in vain says that, and not to try it', () => {
  const faults = radio.faults.map((one) => (one.id === 'knob' ? { ...one, weight: 500 } : one));
  const talk = newTalk({ flow: { ...radio, faults }, settings: following('settings', 'knob-feel') });
  const asker = intake(talk);
  asker.taps('no');
  expect(talk.kase.answers.at(-1)).toMatchObject({ kind: 'tested', result: 'no', remedies: ['settings'] });
  asker.asks('card');
  const causes = section(card(talk), 'Likely causes now');
  expect(causes.match(/Tried already: [^\n]+/g)).toEqual([expect.stringMatching(/^Tried already: .+\.$/)]);
  expect(causes).toContain('%. Somebody sees to it');
});

test('keeps the words in which a danger was first told, whatever button confirms it', () => {
  const talk = newTalk({ settings: following('knob-feel') });
  const asker = intake(talk);
  asker.says('maybe it smells a bit burnt');
  asker.taps('yes');
  expect(section(card(talk), 'Danger')).toMatch(/\*\*A burning smell\*\*: “.*burnt.*”/);
});

test('of a danger that nobody described has the name alone', () => {
  const talk = newTalk({ settings: following('knob-feel') });
  const asker = intake(talk);
  asker.taps('danger');
  asker.taps('smoke');
  expect(section(card(talk), 'Danger')).toBe('Danger\n\n- **Smoke**\n');
});

test('says where the work stands: covers, measurements, who has it, what is asked', () => {
  const talk = newTalk({ settings: following('lead-look') });
  const asker = intake(talk, 'handy');
  opened(talk, asker);
  asker.measures('9 V');
  asker.measures('0.3 V');
  asker.asks('card');
  expect(section(card(talk), 'How it stands')).toBe(
    `How it stands

- Open: the back.
- Not proven discharged: treat it as charged, and keep hands out until it is measured.
- Measured so far, the proof not finished: battery before: 9 V; the big can: 0.3 V.
- Whoever has it is used to working inside unplugged things (vouched for), with a meter.
- Asked now: Prove that it is discharged: The feed of the dial lamp. What does the meter show? I need less than 10 V.
`,
  );
});

test('says by whose word somebody is handy', () => {
  const talk = newTalk({ settings: following('lead-look') });
  const asker = intake(talk);
  asker.taps('handy');
  asker.asks('card');
  expect(card(talk)).toContain('inside unplugged things (by their own word).');
});

test('says what a look left changed, and how to put it back', () => {
  const talk = newTalk({ settings: following('lead-off-look') });
  const asker = intake(talk, 'handy');
  opened(talk, asker);
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) asker.measures(volts);
  asker.taps('no');
  asker.asks('card');
  expect(section(card(talk), 'How it stands')).toContain(
    'Left changed by “Sound without the tape lead”: put it back before it is used. Plug the tape lead in again.',
  );
});

test('names the part that comes next, with what has to match', () => {
  const talk = newTalk({ settings: following('new-speaker') });
  const asker = intake(talk);
  asker.taps('young');
  asker.taps('new');
  expect(section(card(talk), 'What comes next')).toContain(
    '- Part: speaker, about 6 GBP (prices seen 2026-01). To match: The same ohms.',
  );
});

test('of what works again names what it was, and suspects nothing else', () => {
  const talk = newTalk({ settings: following('settings') });
  const asker = intake(talk);
  asker.taps('works');
  expect(section(card(talk), 'Outcome')).toBe(
    `Outcome

- Fixed.
- What it was: the volume knob.
- How that is known: it works again after what mends this and hardly anything else.
- Who says so: the bot, after the owner said that it works again.
- Spent, by the guide’s figures: 2 min of work.
`,
  );
  expect(section(card(talk), 'Likely causes now')).toBe('');
});

test('keeps the first and the latest of many words, each short', () => {
  const talk = newTalk({ settings: following('knob-feel') });
  const asker = intake(talk);
  for (let i = 1; i <= 10; i++) asker.says(`remark ${'x'.repeat(i === 10 ? 400 : 1)} of day ${i}`);
  asker.asks('card');
  const words = section(card(talk), 'In the owner’s words').split('\n').slice(2, -1);
  expect(words).toHaveLength(9);
  expect(words[0]).toBe('- “It lights up but is silent”');
  expect(words[3]).toBe('- (3 more left out)');
  expect(words[8]).toMatch(/^- “remark x+…”$/);
});

/** A case that ended so, with these answers more. */
function ended(outcome: Omit<NonNullable<Case['outcome']>, 'at'>, ...more: Unstamped[]): string {
  const talk = newTalk();
  talk.as(dora).says('It hums');
  const answers = more.map(
    (one, i) => ({ ...one, seq: 100 + i, at: talk.at, by: dora.id, level: 'new' }) as Answer,
  );
  const kase: Case = {
    ...talk.kase,
    state: 'settled',
    answers: [...talk.kase.answers, ...answers],
    outcome: { ...outcome, at: talk.at },
  };
  return section(jobCard(look(kase, tablesOf(radio, settings), settings, talk.at, false), null), 'Outcome');
}
type Unstamped<A = Answer> = A extends Answer ? Omit<A, 'seq' | 'at' | 'by' | 'level'> : never;

test('of what a person settled says who says so, what stood in the way, and what it took', () => {
  const outcome = ended(
    { outcome: 'End of life', fault: 'joint', barrier: 'Item too worn out', by: dora.id },
    { kind: 'answered', step: 'knob-feel', outcome: 'yes' },
    { kind: 'part-arrived', step: 'new-speaker' },
    { kind: 'tested', result: 'no', remedies: ['drain', 'new-speaker'] },
  );
  // A look of 1 min, a drain of 2 min and 30 of waiting, a speaker of 12 min and of 4 to 8 GBP.
  expect(outcome).toBe(
    `Outcome

- End of life.
- Barrier: Item too worn out.
- What it was: a cracked joint.
- How that is known: the person who settled it says so.
- Who says so: the owner.
- Spent, by the guide’s figures: about 6 GBP for parts, 15 min of work and 30 min of waiting.
`,
  );
});

test('of a person in a role names the role, and of nobody the name', () => {
  const talk = newTalk();
  talk.as(dora).says('It hums');
  talk.as({ ...people.mender, name: 'Mo' }).does({ what: 'settle', outcome: 'Repairable', fault: 'joint' });
  const outcome = section(card(talk), 'Outcome');
  expect(outcome).toContain('- Who says so: a mender.\n- Spent, by the guide’s figures: nothing.');
  expect(outcome).not.toMatch(/Mo|Dora/);
});

test('of what works again without pointing to one fault says that what it was is a guess', () => {
  expect(ended({ outcome: 'Fixed', fault: 'joint', barrier: null, by: 'desk' })).toContain(
    '- Most likely: a cracked joint.\n- How that is known: a guess, the likeliest by what was seen.\n- Spent',
  );
});

test('says of what was open and works again whether its electrical test was passed or not done', () => {
  const safety = (safety: 'passed' | 'not done'): string =>
    ended({ outcome: 'Fixed', fault: null, barrier: null, safety, by: people.asker.id });
  expect(safety('passed')).toContain('- Fixed. Electrical test passed.');
  expect(safety('not done')).toContain('- Fixed. Electrical test not done.');
});

test('names that somebody chose are shown as they are, and nothing in them is layout', () => {
  const talk = newTalk({ settings: following('settings') });
  const sly = { ...people.mender, name: '**Mo**\n## Danger [x](y)' };
  intake(talk).asks('person');
  talk.as(sly).does({ what: 'advise', words: 'Try the other socket.' });
  talk.as(sly).does({ what: 'settle', outcome: 'Repairable' });
  talk.later(((talk.kase.followUp?.due ?? 0) - talk.at) / 60_000).rings();
  talk.as(sly).taps('repaired');
  talk.as(dora).asks('card');
  expect(card(talk)).toContain('says Mo Danger x (y)');
  expect(
    card(talk)
      .split('\n## ')
      .map((part) => part.split('\n')[0]),
  ).not.toContain('Danger x (y)');
  expect(card(talk)).not.toContain('**Mo**');
});

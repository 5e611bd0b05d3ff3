import { expect, test } from 'vitest';
import { jobCard } from '../../src/core/card.ts';
import { look } from '../../src/core/next.ts';
import { tablesOf } from '../../src/core/step.ts';
import { following, newTalk } from '../conversations/thread.ts';
import { people, radio } from './example-flow.ts';

/** What stands on a job card, and what does not. */

function tried() {
  const settings = following('settings');
  const talk = newTalk({ settings });
  const asker = talk.as({ ...people.asker, level: 'handy' });
  asker.says('it lights up but is silent');
  for (const answer of ['silent', 'solid', 'no']) asker.taps(answer);
  const card = (): string =>
    jobCard(look(talk.kase, tablesOf(radio, settings), settings, talk.at, false), 'reseat');
  return { talk, asker, card };
}

test('a remedy that was tried stands on the card once, with what came of it', () => {
  const { talk, card } = tried();
  expect(talk.kase.answers).toContainEqual(
    expect.objectContaining({ kind: 'remedy-done', step: 'settings' }),
  );
  expect(card()).toMatch(/Tried after “.*”: no change/);
  expect(card()).not.toContain('- Done:');
});

test('a settled case has nothing that comes next, and no guesses where somebody has said what it was', () => {
  const { talk, asker, card } = tried();
  expect(card()).toContain('## What comes next');
  expect(card()).toContain('## Likely causes now');
  asker.asks('person');
  talk.as(people.mender).does({ what: 'settle', outcome: 'End of life', fault: 'joint' });
  expect(card()).toContain('- What it was: ');
  expect(card()).not.toContain('## What comes next');
  expect(card()).not.toContain('## Likely causes now');
});

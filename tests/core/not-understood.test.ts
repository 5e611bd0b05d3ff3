import { expect, test } from 'vitest';
import { newTalk } from '../conversations/thread.ts';
import { people } from './example-flow.ts';

/** Words that are no answer. */

test.each(['is it dangerous?', 'could this kill me', 'is it safe to touch it?'])(
  '“%s” is told where the dangers stand, and what to do in doubt',
  (words) => {
    const talk = newTalk();
    const asker = talk.as({ ...people.asker, level: 'handy' });
    asker.says('it lights up but is silent');
    asker.taps('silent');
    const { question } = talk.kase;
    asker.says(words);
    const said = talk.sent.flatMap((one) => (one.kind === 'say' ? [one.words] : []));
    expect(said).toEqual([expect.stringMatching(/can hurt you .* leave it switched off.* “danger”/)]);
    expect(talk.kase.question).toEqual(question);
  },
);

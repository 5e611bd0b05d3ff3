import { describe, expect, test } from 'vitest';
import { Act, FormName } from '../../shared/inbound.ts';
import type { Form } from '../../shared/outbound.ts';
import type { Person } from '../../shared/person.ts';
import { following, newTalk, type Talk } from '../conversations/thread.ts';
import { people } from './example-flow.ts';

/** Forms that menders and askers fill in. */

const { asker, mender, moderator, stranger } = people;

const started = (): Talk => {
  const talk = newTalk({ settings: following('dial-lamp', 'settings') });
  talk.as(asker).says('It lights up but is silent');
  talk.as(asker).taps('silent');
  talk.as(asker).taps('solid');
  return talk;
};
const form = (talk: Talk, name: FormName, by: Person): Form | string => {
  const before = talk.kase;
  talk.as(by).sends({ kind: 'wanted', form: name });
  expect(talk.kase.answers).toEqual(before.answers);
  const [one, ...others] = talk.sent.filter(({ kind }) => kind !== 'bench');
  expect(others).toEqual([]);
  return one?.kind === 'form' ? one : one?.kind === 'whisper' ? one.words : `${one?.kind}`;
};
const acts = FormName.options.filter((name) => name !== 'reading');

test.each(acts)('“%s” is opened for nobody without a role, in a case of their own either', (name) => {
  for (const who of [asker, stranger]) expect(typeof form(started(), name, who)).toBe('string');
});

test.each(['correct', 'clear', 'unflag'] as const)('“%s” is opened for moderators only', (name) => {
  const talk = started();
  talk.as(asker).taps('yes');
  if (name === 'unflag') talk.as(asker).says('smoke is coming out');
  expect(form(talk, name, mender)).toContain('Only a moderator');
  expect(form(talk, name, moderator)).toMatchObject({ kind: 'form', to: moderator.id, form: name });
});

test('every form comes back filled in as an act that the case understands', () => {
  const filled: Record<string, Record<string, string>> = {
    advise: { words: 'Try another socket.' },
    result: { step: 'dial-lamp', answer: 'yes, it glows' },
    clear: { tier: 'cold', reason: 'we talked' },
    settle: { outcome: 'Fixed' },
  };
  for (const [name, values] of Object.entries(filled)) {
    const talk = started();
    const one = form(talk, name as FormName, moderator) as Form;
    const fields = new Map(one.fields.map((field) => [field.id, field]));
    for (const [id, value] of Object.entries(values)) {
      const field = fields.get(id);
      expect(field, `${name}: ${id}`).toBeDefined();
      if (field?.kind === 'choice') expect(field.options?.map((option) => option.id)).toContain(value);
    }
    for (const field of one.fields) expect(field.optional || values[field.id] !== undefined).toBe(true);
    expect(Act.safeParse({ what: name, ...values }).success).toBe(true);
  }
});

describe('a result', () => {
  test('may be told in the answer’s own words', () => {
    const talk = started();
    const one = form(talk, 'result', mender) as Form;
    expect(one.fields[0]?.options?.map(({ id }) => id)).toContain('dial-lamp');
    talk.as(mender).does({ what: 'result', step: 'dial-lamp', answer: ' YES, it glows ' });
    const told = talk.kase.answers.at(-1);
    talk.as(mender).does({ what: 'result', step: 'dial-lamp', answer: 'no idea' });
    expect(told).toMatchObject({ step: 'dial-lamp', outcome: 'yes', by: mender.id });
    expect(talk.kase.answers.at(-1)).toEqual(told);
    expect(talk.sent).toMatchObject([{ kind: 'whisper', words: expect.stringContaining('these answers') }]);
  });
});

describe('a reading', () => {
  const atReading = (): Talk => {
    const talk = newTalk({ settings: following('reseat') });
    talk.as({ ...asker, level: 'handy' }).says('It lights up but is silent');
    for (const answer of ['silent', 'solid', 'light', 'yes', 'unplugged'])
      talk.as({ ...asker, level: 'handy' }).taps(answer);
    talk.later(20).rings();
    talk.as(handy).taps('opened');
    return talk;
  };
  const handy = { ...asker, level: 'handy' as const };

  test('has a form that names the unit, and comes back for the question it was opened for', () => {
    const talk = atReading();
    const one = form(talk, 'reading', handy);
    expect(one).toMatchObject({
      kind: 'form',
      key: talk.kase.question?.key,
      fields: [{ id: 'reading', kind: 'line', label: 'What the meter shows (V d.c.)' }],
    });
  });

  test('is not asked for where no number is wanted, or for an old question', () => {
    expect(form(started(), 'reading', asker)).toContain('not waiting for a number');
    const talk = atReading();
    talk.as(handy).sends({ kind: 'wanted', form: 'reading', of: 'q1' });
    expect(talk.sent).toMatchObject([{ kind: 'whisper', to: handy.id }]);
  });
});

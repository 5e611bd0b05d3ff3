import { describe, expect, test } from 'vitest';
import { Flow } from '../../shared/flow.ts';
import { people, radio } from '../core/example-flow.ts';
import { following, newTalk, type Talk, type Voice } from './thread.ts';

/** People who do not answer as they were asked to. Nobody is left without something to do, or told the same twice. */

const gil = { ...people.asker, name: 'Gil' };

function intake(talk: Talk, level?: 'handy'): Voice {
  const asker = talk.as(level ? { ...gil, level } : gil);
  asker.says('It lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
  return asker;
}

function atTheProof(talk: Talk): Voice {
  const asker = intake(talk, 'handy');
  asker.taps('light');
  asker.taps('yes');
  asker.taps('unplugged');
  talk.later(20).rings();
  asker.taps('opened');
  return asker;
}

test('somebody who answers in sentences, and takes a guess back', () => {
  const talk = newTalk({ settings: following('knob-feel', 'drain') });
  const asker = talk.as(gil);
  asker.says('It lights up but is silent');
  asker.says('yes');
  asker.says('no idea, sorry');
  asker.asks('undo');
  asker.says('glass I would say');
  asker.says('no');
  asker.says('yes');
  asker.says('1');
  asker.says('yes');
  asker.says('no it wont move at all');
  asker.says('what do I do if it gets hot');
  asker.says('it hisses a little');
  asker.says('and it rattles');
  asker.says('yes');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:00 Gil: It lights up but is silent
        ? What is wrong: Do I understand you right?
          [silent] [other] [danger]
    09:00 Gil: yes
        = Complaint: It lights up, but it is silent
        ? About the appliance: What kind of radio is it?
          [solid] [glass] [spirit] [not-known] [recalled]
    09:00 Gil: no idea, sorry
        = What kind of radio is it? I do not know
        It stays closed until somebody knows.
        ? Turn the knob: Does it turn all the way?
          [yes] [no]
    09:00 Gil: <undo>
        Taken back: What kind of radio is it? I do not know.
        ? About the appliance: What kind of radio is it?
          [solid] [glass] [spirit] [not-known] [recalled]
    09:00 Gil: glass I would say
        I read that as: “One with glass valves”. Is that right? Say yes, or choose an answer.
    09:00 Gil: no
        Then please choose one of these:
          - One with transistors
          - One with glass valves
          - One that burns spirit
          - I do not know
          - Its maker has called it back
    09:00 Gil: yes
        That is no answer I know here, but it stays with the case. These are the answers:
          - One with transistors
          - One with glass valves
          - One that burns spirit
          - I do not know
          - Its maker has called it back
    09:00 Gil: 1
        I read that as: “One with transistors”. Is that right? Say yes, or choose an answer.
    09:00 Gil: yes
        = What kind of radio is it? One with transistors
        ? Turn the knob: Does it turn all the way?
          [yes] [no]
    09:00 Gil: no it wont move at all
        I read that as: “No, it is stuck”. Is that right? Say yes, or choose an answer.
    09:00 Gil: what do I do if it gets hot
        That is a question for people: say “ask a person”, and they take over. “Why?” tells what this step is good for.
    09:00 Gil: it hisses a little
        I did not understand that as an answer. I keep it for whoever looks at this. Please choose one of these:
          - Yes, it turns
          - No, it is stuck
    09:00 Gil: and it rattles
        That is no answer I know here, but it stays with the case. These are the answers:
          - Yes, it turns
          - No, it is stuck
    09:00 Gil: yes
        = Turn the knob: Yes, it turns
        ? Let all charge drain: Is it waiting now? I keep the time (30 min) and come back.
          [done]
    "
  `);
});

test('in a wait every word is answered, kept, and never with the same sentence', () => {
  const talk = newTalk({ settings: following('drain') });
  const asker = intake(talk);
  asker.taps('done');
  talk.read();
  talk.later(1);
  asker.says('ok I go for a walk');
  asker.says('how long was it');
  asker.asks('cannot');
  asker.asks('again');
  asker.says('change 2');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:01 Gil: ok I go for a walk
        We are waiting: “Let all charge drain” needs its time. 29 min to go. Do something else meanwhile; I come back by myself.
    09:01 Gil: how long was it
        We are waiting: “Let all charge drain” needs its time. 29 min to go. “Undo” takes the last answer back, “stop” ends it for today.
    09:01 Gil: <cannot>
        We are waiting: “Let all charge drain” needs its time. 29 min to go. Do something else meanwhile; I come back by myself.
    09:01 Gil: <again>
        We are waiting: “Let all charge drain” needs its time. 29 min to go.
    09:01 Gil: change 2
        Taken back: What kind of radio is it? One with transistors
        (no longer: wait:drain)
        ? About the appliance: What kind of radio is it?
          [solid] [glass] [spirit] [not-known] [recalled]
    "
  `);
  expect(talk.kase.words.slice(-2)).toEqual(['ok I go for a walk', 'how long was it']);
});

describe('a sign of danger', () => {
  test('is not guessed at: it was the toaster, and that is answered in so many words', () => {
    const talk = newTalk({ settings: following('drain') });
    const asker = intake(talk);
    talk.read();
    asker.says('maybe there was some smoke');
    asker.says('no it was only the toaster');
    asker.says('no');
    expect(talk.read()).toMatchInlineSnapshot(`
      "
      09:00 Gil: maybe there was some smoke
          ? Safety first: Did smoke come out of it?
            [yes] [no]
      09:00 Gil: no it was only the toaster
          To be safe I take only one of these answers here. If it surely came from something else, such as a toaster, and is over, answer no.
            - Yes
            - No, nothing like that
      09:00 Gil: no
          Good. Then we go on.
          ? Let all charge drain: Is it waiting now? I keep the time (30 min) and come back.
            [done]
      "
    `);
    expect(talk.kase.flags).toEqual([]);
  });

  test('such as gas is never put down to something else', () => {
    const talk = newTalk({ settings: following('drain') });
    const asker = intake(talk);
    asker.says('maybe I smell gas');
    expect(talk.ask).toMatchObject({ phase: 'flag', step: 'gas' });
    asker.says('could be the cooker');
    expect(JSON.stringify(talk.sent)).not.toContain('answer no');
    expect(talk.kase.question).toMatchObject({ kind: 'flag', step: 'gas' });
  });
});

describe('with the meter in hand', () => {
  test('who is not sure has time; who cannot measure goes another way, and nobody says they have no meter', () => {
    const talk = newTalk({ settings: following('lead-look') });
    const asker = atTheProof(talk);
    talk.read();
    asker.says('lost the probe');
    asker.asks('unsure');
    expect(talk.kase.question).toMatchObject({ kind: 'prove' });
    asker.asks('cannot');
    expect(talk.read()).toMatchInlineSnapshot(`
      "
      09:20 Gil: lost the probe
          I did not understand that as an answer. I keep it for whoever looks at this. Please type the number that the meter shows, or say “can’t do this”.
      09:20 Gil: <unsure>
          Take your time, and keep your hands out until you know. If you cannot find the place or the meter shows nothing clear, say “can’t do this”: then nothing inside gets touched, and we go another way.
      09:20 Gil: <cannot>
          = Cannot measure volts here
          Then nothing inside gets touched: without the measurement nobody knows whether it is charged.
          > to people (refused): From here it is not safe for me to let you go on alone. The next step would be: Look at the speaker lead. Without a multimeter nobody can tell whether it still holds a charge, so nobody reaches in. It is still open: pull the plug if it is in, leave it out, and let nobody reach in. Who can help: The Larkholm Bench. The job card below tells them everything.
      "
    `);
    expect(talk.kase.world.proof).toBeNull();
  });

  test('readings are echoed as they were understood', () => {
    const talk = newTalk({ settings: following('lead-look') });
    const asker = atTheProof(talk);
    const echoes: string[] = [];
    for (const typed of ['9,1 volts', '.3', '300 mV', '-9.1V']) {
      asker.says(typed);
      echoes.push(...talk.sent.flatMap((one) => (one.kind === 'amend' ? [one.words] : [])));
    }
    expect(echoes).toEqual([
      'Battery before: 9.1 V',
      'The big can: 0.3 V',
      'The feed of the dial lamp: 0.3 V',
      'Battery after: -9.1 V',
    ]);
  });

  test('danger is told before the reading is echoed', () => {
    const talk = newTalk({ settings: following('lead-look') });
    const asker = atTheProof(talk);
    asker.says('9 V');
    asker.says('48 V');
    expect(talk.sent.map((one) => one.kind)).toEqual(['warn', 'amend', 'say', 'remind']);
  });

  test('one thing to do is not offered as a list of one', () => {
    const talk = newTalk({ settings: following('lead-look') });
    const asker = intake(talk, 'handy');
    asker.taps('light');
    asker.taps('yes');
    asker.taps('unplugged');
    talk.later(20).rings();
    asker.says('the screws turn round and round');
    expect(talk.sent).toEqual([
      {
        kind: 'say',
        words:
          'I did not understand that as an answer. I keep it for whoever looks at this. Say “yes” when it is done, or “can’t do this”.',
      },
    ]);
  });
});

test('who refuses live work twice hears how to refuse it for good', () => {
  const flow = Flow.parse({
    ...radio,
    checks: radio.checks.map((check) =>
      check.id === 'ripple' ? { ...check, access: 'back-off', needs: undefined } : check,
    ),
  });
  const talk = newTalk({ flow, settings: following('rail', 'ripple') });
  const asker = talk.as({ ...gil, level: 'trained' });
  asker.says('It lights up but is silent');
  for (const answer of ['silent', 'solid', 'light', 'yes', 'unplugged']) asker.taps(answer);
  talk.later(20).rings();
  asker.taps('opened');
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) asker.measures(volts);
  expect(talk.ask).toMatchObject({ phase: 'safety', step: 'rail' });
  asker.taps('not-agreed');
  expect(talk.sent).toContainEqual({ kind: 'say', words: 'Good. We leave that one out.' });
  expect(talk.ask).toMatchObject({ phase: 'safety', step: 'ripple' });
  asker.taps('not-agreed');
  expect(talk.sent).toContainEqual({
    kind: 'say',
    words: 'Not that one either, then. For no work with power on at all, say “ask a person”.',
  });
});

test('a part comes some day: its coming is not asked for at once, and no word of it is read as the wrong part', () => {
  const talk = newTalk({ settings: following('new-speaker') });
  const asker = intake(talk, 'handy');
  asker.taps('young');
  asker.taps('light');
  asker.taps('yes');
  asker.taps('unplugged');
  talk.later(20).rings();
  asker.taps('opened');
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) asker.measures(volts);
  asker.taps('ordered');
  expect(talk.sent).toContainEqual({
    kind: 'say',
    words:
      'Good. Leave it unplugged until the part is here, and put the cover back so that nobody can reach in.',
  });
  expect(talk.ask?.question).toMatch(/^Answer this when it is here\./);
  talk.later(5 * 24 * 60 + 60).rings();
  expect(talk.ask?.question).toMatch(/^Is it here,/);
  asker.says('it came today');
  expect(talk.kase.guess).not.toBe('wrong-part');
  asker.says('it is the wrong one');
  expect(talk.kase.answers.at(-1)).toMatchObject({ kind: 'set-aside', why: 'wrong-part' });
});

test('who is not sure about a remedy is told that it is left out, and how it comes back', () => {
  const talk = newTalk({ settings: following('drain', 'knob-feel') });
  const asker = intake(talk);
  expect(talk.ask?.step).toBe('drain');
  asker.asks('unsure');
  expect(talk.sent).toContainEqual(
    expect.objectContaining({ kind: 'say', words: expect.stringContaining('“undo” brings it back') }),
  );
  expect(talk.ask?.step).toBe('knob-feel');
  asker.asks('undo');
  expect(talk.ask?.step).toBe('drain');
});

test('who ordered a part for a radio that is closed is not told to put a cover back', () => {
  const flow = Flow.parse({
    ...radio,
    remedies: radio.remedies.map((one) => (one.id === 'new-speaker' ? { ...one, access: 'outside' } : one)),
  });
  const talk = newTalk({ flow, settings: following('new-speaker') });
  const asker = intake(talk);
  asker.taps('young');
  asker.taps('ordered');
  expect(talk.sent).toContainEqual({
    kind: 'say',
    words: 'Good. Leave it unplugged until the part is here.',
  });
});

test('a settled case is taken up again where it was, and a stopped one by any word', () => {
  const talk = newTalk({ settings: following('knob-feel', 'drain') });
  const asker = intake(talk);
  talk.read();
  asker.asks('stop');
  talk.later(7 * 24 * 60);
  asker.says('hello, it is me again');
  asker.taps('yes');
  asker.taps('done');
  talk.later(30).rings();
  asker.taps('works');
  asker.says('it went silent again');
  asker.says('again');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:00 Gil: <stop>
        We stop here. Come back any time, and we go on.
    day 8, 09:00 Gil: hello, it is me again
        Welcome back. We go on where we were.
        ? Turn the knob: Does it turn all the way?
          [yes] [no]
    day 8, 09:00 Gil: [yes]
        = Turn the knob: Yes, it turns
        ? Let all charge drain: Is it waiting now? I keep the time (30 min) and come back.
          [done]
    day 8, 09:00 Gil: [done]
        = Done: Let all charge drain
        Now we wait 30 min: “Let all charge drain” needs its time. I come back by myself.
        (comes back: day 8, 09:30)
    day 8, 09:30 a timer: (rang)
        The time is over.
        ? Does it work now?: After “Let all charge drain”: does it work now?
          [works] [no] [different]
    day 8, 09:30 Gil: [works]
        = Tried after “Let all charge drain”: it works
        > Fixed: Well done, it works again. Most likely it was: a stuck state.
    day 8, 09:30 Gil: it went silent again
        This case is settled. Say “again” to take it up again.
    day 8, 09:30 Gil: again
        Good, we take it up again.
        ? Does it work now?: After “Let all charge drain”: does it work now?
          [works] [no] [different]
    "
  `);
});

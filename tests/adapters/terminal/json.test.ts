import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { addressed, type Scene } from '../../../adapters/terminal/inbound.ts';
import { hearJson, jsonLine } from '../../../adapters/terminal/json.ts';
import { Inbound } from '../../../shared/inbound.ts';
import { Outbound } from '../../../shared/outbound.ts';
import { ask, NOON, SETTLED, STANDBY, TORCH } from './examples.ts';

const OPEN: Scene = {
  opened: true,
  ask: STANDBY,
  asks: new Map([
    ['q1', TORCH],
    ['q2', STANDBY],
  ]),
  form: null,
};
const UNOPENED: Scene = { opened: false, ask: null, asks: new Map(), form: null };
const message = (content: object) => ({ kind: 'message', message: content });
const FIRST = 'No case is open yet: say first what is wrong, as {"say":"text"} or plain text.';
const ACCEPTED =
  'Accepted is one of {"choose":"ID"}, {"choose":"ID","of":"KEY"}, {"say":"text"}, {"measure":"4.97 V"}, ' +
  '{"advance":MINUTES}, or plain text.';

describe('a line out', () => {
  it('is the message itself', () => {
    for (const outbound of [TORCH, STANDBY, SETTLED]) {
      const line = jsonLine(outbound);
      expect(line).not.toContain('\n');
      expect(Outbound.parse(JSON.parse(line))).toEqual(outbound);
    }
  });
});

describe('a line in', () => {
  it('says, chooses, measures, asks, and moves the clock', () => {
    expect(hearJson('{"say":"it hums"}', OPEN)).toEqual(message({ kind: 'said', words: 'it hums' }));
    expect(hearJson('it hums', OPEN)).toEqual(message({ kind: 'said', words: 'it hums' }));
    expect(hearJson('why', OPEN)).toEqual(message({ kind: 'said', words: 'why' }));
    expect(hearJson('{"choose":"low"}', OPEN)).toEqual(message({ kind: 'chose', answer: 'low', of: 'q2' }));
    expect(hearJson('{"choose":"faint","of":"q1"}', OPEN)).toEqual(
      message({ kind: 'chose', answer: 'faint', of: 'q1' }),
    );
    expect(hearJson('{"measure":"4.97 V"}', OPEN)).toEqual(message({ kind: 'measured', reading: '4.97 V' }));
    expect(hearJson('{"choose":"undo"}', OPEN)).toEqual(message({ kind: 'asked', what: 'undo' }));
    expect(hearJson('{"choose":"unsure","of":"q2"}', OPEN)).toEqual(
      message({ kind: 'asked', what: 'unsure' }),
    );
    expect(hearJson('{"advance":45.5}', OPEN)).toEqual({ kind: 'advance', minutes: 45.5 });
    expect(hearJson(' \t', OPEN)).toEqual({ kind: 'nothing' });
  });

  it('opens the case when it is the first, said or plain', () => {
    const opened = message({ kind: 'opened', words: 'no picture', place: 'terminal' });
    expect(hearJson('{"say":"no picture"}', UNOPENED)).toEqual(opened);
    expect(hearJson('no picture', UNOPENED)).toEqual(opened);
  });

  it('reaches an offered answer that has the name of a control', () => {
    const again = ask({ key: 'q3', choices: [{ id: 'again', label: 'Once more' }] });
    const scene: Scene = { ...OPEN, ask: again, asks: new Map([['q3', again]]) };
    expect(hearJson('{"choose":"again"}', scene)).toEqual(
      message({ kind: 'chose', answer: 'again', of: 'q3' }),
    );
  });

  it.each([
    ['{"say":', `This is not one JSON object in one line. ${ACCEPTED}`],
    ['[{"say":"x"}]', `This is not one JSON object in one line. ${ACCEPTED}`],
    ['{}', ACCEPTED],
    ['{"of":"q1"}', ACCEPTED],
    ['{"tell":"x"}', `"tell" is not known here. ${ACCEPTED}`],
    ['{"__proto__":"x"}', `"__proto__" is not known here. ${ACCEPTED}`],
    ['{"toString":"x"}', `"toString" is not known here. ${ACCEPTED}`],
    ['{"say":"x","choose":"y"}', `One thing a line. ${ACCEPTED}`],
    ['{"say":"x","of":"q1"}', `"of" goes with "choose" only. ${ACCEPTED}`],
    ['{"say":1}', `"say" takes a text in quotes. ${ACCEPTED}`],
    ['{"choose":null}', `"choose" takes a text in quotes. ${ACCEPTED}`],
    ['{"choose":"low","of":2}', `"of" takes a text in quotes. ${ACCEPTED}`],
    ['{"measure":4.97}', `"measure" takes a text in quotes. ${ACCEPTED}`],
    ['{"say":" "}', `"say" takes a text that is not empty. ${ACCEPTED}`],
    ['{"say":"a\\u0000b"}', '"say" takes a text without NUL characters.'],
    ['a\0b', `A line takes no NUL characters. ${ACCEPTED}`],
    ['{"advance":-5}', '"advance" takes a number of minutes above 0 and up to 527040.'],
    ['{"advance":0}', '"advance" takes a number of minutes above 0 and up to 527040.'],
    ['{"advance":1e300}', '"advance" takes a number of minutes above 0 and up to 527040.'],
    ['{"advance":1e999}', '"advance" takes a number of minutes above 0 and up to 527040.'],
    ['{"advance":"5"}', '"advance" takes a number of minutes above 0 and up to 527040.'],
    [`{"choose":"${'x'.repeat(201)}"}`, '"choose" takes at most 200 characters.'],
    [`{"measure":"${'1'.repeat(2001)}"}`, '"measure" takes at most 2000 characters.'],
    [`{"say":"${'x'.repeat(20_001)}"}`, '"say" takes at most 20000 characters.'],
    ['x'.repeat(20_001), 'A line of text takes at most 20000 characters.'],
  ])('that cannot be used is told why (%#)', (line, sentence) => {
    expect(hearJson(line, OPEN)).toEqual({ kind: 'problem', sentence });
  });

  it.each(['{"choose":"low"}', '{"choose":"undo"}', '{"measure":"5 V"}', '{"advance":5}'])(
    'before a case is open is told to say first what is wrong: %s',
    (line) => {
      expect(hearJson(line, UNOPENED)).toEqual({ kind: 'problem', sentence: FIRST });
    },
  );

  it('of the longest kind is still taken in', () => {
    expect(hearJson(`{"say":"${'x'.repeat(20_000)}"}`, OPEN).kind).toBe('message');
  });

  it('whatever it is, becomes something the desk accepts, or a sentence', () => {
    const by = { id: 'p1', name: 'Nilo', roles: [] };
    const value = fc.oneof(
      fc.string({ unit: 'binary' }),
      fc.double(),
      fc.jsonValue(),
      fc.constantFrom('low', 'undo'),
    );
    const object = fc.dictionary(
      fc.constantFrom('say', 'choose', 'measure', 'advance', 'of', '__proto__'),
      value,
      { maxKeys: 2 },
    );
    const line = fc.oneof(
      fc.string({ unit: 'binary' }),
      fc.json(),
      object.map((keys) => JSON.stringify(keys)),
    );
    const kinds = new Set<string>();
    fc.assert(
      fc.property(line, fc.constantFrom(OPEN, UNOPENED), (text, scene) => {
        const heard = hearJson(text, scene);
        kinds.add(heard.kind);
        if (heard.kind === 'message')
          Inbound.parse(addressed(heard.message, { id: 'i', thread: 't', at: NOON, by }));
        if (heard.kind === 'problem') expect(heard.sentence).toMatch(/^["A-Z].*\.$/s);
      }),
      { seed: 106, numRuns: 2000 },
    );
    expect([...kinds].sort()).toEqual(['advance', 'message', 'nothing', 'problem']);
  });
});

import fc from 'fast-check';
import { expect, test } from 'vitest';
import { type Envelope, type Label, unwrap, wrap } from '../../src/cache/envelope.ts';

const label: Label = { of: 'case', key: 'thread', version: '1' };
const envelope = wrap(label, '{"seq":3}');

test('what was wrapped comes out under the same label', () => {
  expect(unwrap(label, envelope)).toEqual({ result: 'hit', value: { seq: 3 } });
});

test('what another version wrapped rightly is a miss', () => {
  expect(unwrap({ ...label, version: '2' }, envelope)).toEqual({ result: 'miss' });
});

test.each([
  ['of another key', wrap({ ...label, key: 'other' }, '{"seq":3}')],
  ['of another kind', wrap({ ...label, of: 'plan' }, '{"seq":3}')],
  [
    'of another version under this one’s name',
    { ...wrap({ ...label, version: '0' }, '{"seq":3}'), version: '1' },
  ],
  ['whose text is another', { ...envelope, text: '{"seq":4}' }],
  ['whose text is cut off', { ...envelope, text: '{"seq":' }],
  ['whose checksum is another', { ...envelope, checksum: `${envelope.checksum}0` }],
  ['without a checksum', { version: '1', text: '{"seq":3}' }],
  ['whose text is no text', { ...envelope, text: { seq: 3 } }],
  ['that is a list', [envelope]],
  ['that is nothing', null],
  ['that is a bare text', '{"seq":3}'],
  ['that is no JSON although rightly summed', wrap(label, '{"seq":')],
])('one %s is bad', (_, found: unknown) => {
  expect(unwrap(label, found)).toEqual({ result: 'bad' });
});

test('no two labels and texts share a checksum by the way they are joined', () => {
  // Short pieces of what joins them, so that sums of texts merely strung together would meet.
  const piece = fc
    .array(fc.constantFrom('a', '"', ',', '\n', '[', ']', '\\'), { maxLength: 4 })
    .map((s) => s.join(''));
  const whole = fc.record({ key: piece, version: piece, text: piece });
  const sum = ({ key, version, text }: { key: string; version: string; text: string }): Envelope =>
    wrap({ of: 'plan', key, version }, text);
  fc.assert(
    fc.property(whole, whole, (a, b) => {
      fc.pre(JSON.stringify(a) !== JSON.stringify(b));
      expect(sum(a).checksum).not.toBe(sum(b).checksum);
    }),
    { numRuns: 5000, seed: 20262 },
  );
});

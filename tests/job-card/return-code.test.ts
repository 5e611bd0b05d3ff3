import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { qrRows, readReturnCode, returnCode } from '../../src/job-card/return-code.ts';
import { readQr } from './read-qr.ts';

/** crockford.com/base32.html: the symbols in order of their value. */
const crockford = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';

test('a code is the first thirty bits of a hash, in Crockford’s base 32', () => {
  fc.assert(
    fc.property(fc.string({ unit: 'binary' }), (thread) => {
      const hash = createHash('sha256').update(`return-code\n${thread}`).digest('hex');
      let value = BigInt(`0x${hash}`) >> 226n;
      let code = '';
      for (let i = 0; i < 6; i++) {
        code = `${crockford[Number(value % 32n)]}${code}`;
        value /= 32n;
      }
      expect(returnCode(thread)).toBe(code);
    }),
  );
});

test('two thousand threads that differ in a digit have two thousand codes', () => {
  const codes = Array.from({ length: 2000 }, (_, i) => returnCode(`terminal:${i}`));
  expect(new Set(codes).size).toBe(2000);
});

test('a code is understood as people read, type and say it', () => {
  expect(readReturnCode(' k7m-3q d')).toBe('K7M3QD');
  expect(readReturnCode('oOiIlL')).toBe('001111');
  for (const none of ['', 'K7M3Q', 'K7M3QDD', 'K7M3QU', 'K7M3Q!', 'Κ7M3QD', '😀😀😀'])
    expect(readReturnCode(none)).toBeNull();
});

test('what was typed from the paper is the code on the paper', () => {
  fc.assert(
    fc.property(fc.string(), (thread) => {
      const code = returnCode(thread);
      expect(readReturnCode(`${code.slice(0, 3).toLowerCase()} ${code.slice(3)}`)).toBe(code);
    }),
  );
});

test('the squares say the code', () => {
  fc.assert(
    fc.property(fc.string(), (thread) => {
      const code = returnCode(thread);
      expect(readQr(qrRows(code))).toBe(code);
    }),
  );
});

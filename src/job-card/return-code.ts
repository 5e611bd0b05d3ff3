import { createHash } from 'node:crypto';
import qrcode from 'qrcode-generator';

/**
 * What brings somebody from the paper back to the thread: six signs of Crockford's base 32 (crockford.com/base32.html: no I, L,
 * O, U), which say nothing of the thread to whoever finds the paper. 30 bits: of 1,000 cases two share a code once in 2,000
 * desks, of 10,000 in one desk of 22. So whoever looks one up has to expect two cases, and checks rights as always.
 */
const signs = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';
const length = 6;

export function returnCode(thread: string): string {
  const bits = createHash('sha256').update('return-code\n').update(thread).digest().readUInt32BE(0) >>> 2;
  return Array.from({ length }, (_, i) => signs[(bits >>> (5 * (length - 1 - i))) & 31]).join('');
}

/** The code in what somebody typed or scanned: small letters, blanks and hyphens, I and L for 1, O for 0. Null: it is none. */
export function readReturnCode(typed: string): string | null {
  const code = typed.toUpperCase().replace(/[\s-]/g, '').replace(/[IL]/g, '1').replaceAll('O', '0');
  return code.length === length && [...code].every((sign) => signs.includes(sign)) ? code : null;
}

/** The rows of its QR code (ISO/IEC 18004), true for dark, without the quiet zone of four. A quarter of it may be spoilt. */
export function qrRows(code: string): boolean[][] {
  const qr = qrcode(0, 'Q');
  qr.addData(code, 'Alphanumeric');
  qr.make();
  const rows = Array.from({ length: qr.getModuleCount() }, (_, i) => i);
  return rows.map((row) => rows.map((column) => qr.isDark(row, column)));
}

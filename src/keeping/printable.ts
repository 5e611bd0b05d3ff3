/** Words of others on one line of a terminal: nothing in them is obeyed, and nothing is unseen. */
export const printable = (text: string): string =>
  text.toWellFormed().replace(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}]+/gu, '\ufffd');

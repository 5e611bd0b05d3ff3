/**
 * Whether words could lead to a person: an e-mail address, a mention, a hash sign, a link, a telephone number. It is the last
 * look at what is published, and rather refuses too much: what is composed from flows needs none of these.
 */
export function leadsToPerson(words: string): boolean {
  // Wide and other look-alike signs count as what they look like.
  const plain = words.normalize('NFKC').replace(invisible, '');
  return signs.test(plain) || link.test(plain) || telephone.test(plain);
}

/** Zero-width and other signs without a width would part what belongs together. */
const invisible = /\p{Cf}/gu;
/** Addresses, mentions of people and of channels. */
const signs = /[@#]/;
/** A scheme, or a name with a dot and letters behind it, such as example.org. */
const link = /\b[a-z][a-z\d+.-]*:\/\/|\b(?:mailto|tel|sms|xmpp):|\bwww\.|[\p{L}\d-]{2,}\.\p{L}{2,}/iu;
/** Seven digits in a row, however they are grouped; fewer may be a measure, such as 100 - 240. */
const telephone = /\p{Nd}(?:[ ()./\p{Pd}]{0,3}\p{Nd}){6,}/u;

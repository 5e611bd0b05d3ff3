import type { OfferedChoice } from '../../../shared/outbound.ts';

/** How it went on after the end, in a sentence; only to be asked back, and only where the words speak for one answer. */

const denied = String.raw`(?:not|no longer|never|n't|doesnt|isnt|wont|stopped|ceased|quit|dont)(?: \w+)?`;
const broken = new RegExp(
  String.raw`\b(?:broken|broke|failed|died|dead|back again|same (?:fault|problem|thing|issue|as before)|(?:it|fault|problem) (?:is|came|has come) back|happen(?:s|ed|ing) again)\b|${denied} (?:work|working|fine|good|right|ok)\b`,
);
const well =
  /\b(?:works?|working|fine|good|great|perfect|perfectly|ok|okay|well|no problems?|no trouble|holds|holding)\b/;
const repaired = /\b(?:repaired|fixed|mended|works?|working|done)\b/;
const givenUp =
  /\b(?:given up|gave (?:it )?up|recycled|recycling|thrown|threw|scrapped|scrap|binned|bin|tip|bought (?:a )?(?:new|another)|replaced)\b/;
const notYet = new RegExp(
  String.raw`\b(?:not yet|waiting|still (?:there|at|with|broken|waiting))\b|${denied} (?:repaired|fixed|mended|work|working|done|been)\b`,
);
const sameDenied = /\b(?:not|isn't|never) (?:broken|dead|back|the same)\b/;

const unchanged = new RegExp(
  String.raw`\b(?:still (?:broken|dead|the same)|same (?:as before|fault|problem|thing|issue)|no (?:change|difference|improvement|better|luck)|(?:nothing|not|n't|hasnt|has not) (?:changed|helped|improved)|(?:not|n't|didnt) help)\b|${denied} (?:work|working)\b`,
);
const otherwise = /\b(?:but|except|different|differently|now|instead|worse|better)\b/;

/** "It is still not working", said when a remedy has been tried: nothing has changed. */
export const readUnchanged = (plain: string): boolean =>
  plain.length <= 300 && unchanged.test(plain) && !otherwise.test(plain.replace(/\bno better\b/, ''));

/** The id of an offered answer; null where the words speak for none of them, or for two. */
export function readAftermath(plain: string, choices: readonly OfferedChoice[]): string | null {
  const offers = (id: string): boolean => choices.some((choice) => choice.id === id);
  if (plain.length > 300) return null;
  if (offers('works')) {
    if (sameDenied.test(plain)) return null;
    return broken.test(plain) ? 'back' : well.test(plain) ? 'works' : null;
  }
  if (!offers('repaired')) return null;
  const found = [
    ...(givenUp.test(plain) ? ['given-up'] : []),
    ...(notYet.test(plain) ? ['not-yet'] : repaired.test(plain) ? ['repaired'] : []),
  ];
  return found.length === 1 ? (found[0] as string) : null;
}

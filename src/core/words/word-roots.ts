/**
 * Brings the forms of an English word together: smoke, smokes, smoked and smoking have the root "smok". A root need
 * not be a word, it only has to be the same for all forms; patterns and texts go through the same function.
 */

// Rows: the plain form, then forms that no rule gives. "gone" stays apart: a picture that goes on is not gone.
const IRREGULAR_ROWS = `
be is are am was were been being
have has had having
do does did done doing
go goes going went
come came coming
get got gotten gets getting
see saw seen
run ran running
hear heard
show shown showed
give gave given
make made
blow blew blown
break broke broken
burn burnt
smell smelt
spill spilt
freeze froze frozen
swell swollen swelled
lose lost losing
light lit
feel felt
catch caught
throw threw thrown
fall fell fallen
die died dies dying
stick stuck
stink stank stunk
leave left
think thought
keep kept
know knew known
fly flew flown
`;

const VOWEL = /[aeiouy]/;

function strip(word: string): string {
  if (/^[^aeiouy]+s$/.test(word)) return word.slice(0, -1);
  if (word.length < 4) return word;
  let root = word;
  if (/[^aeiou]ies$/.test(root) && root.length > 4) root = `${root.slice(0, -3)}y`;
  else if (/(?:ss|x|ch|sh|z|o)es$/.test(root)) root = root.slice(0, -2);
  else if (root.endsWith('s') && !/(?:ss|us|is)$/.test(root)) root = root.slice(0, -1);
  for (const ending of ['ing', 'ed']) {
    const stem = root.slice(0, -ending.length);
    if (!root.endsWith(ending) || root.endsWith('eed') || stem.length < 3 || !VOWEL.test(stem)) continue;
    root = ending === 'ed' && stem.endsWith('i') ? `${stem.slice(0, -1)}y` : stem;
    break;
  }
  if (root.length >= 4 && root.endsWith('e')) root = root.slice(0, -1);
  return root.length >= 4 && /([b-df-hj-np-tv-z])\1$/.test(root) ? root.slice(0, -1) : root;
}

const IRREGULAR: ReadonlyMap<string, string> = new Map(
  IRREGULAR_ROWS.trim()
    .split('\n')
    .flatMap((row) => {
      const forms = row.split(' ');
      return forms.map((form) => [form, strip(forms[0] ?? form)] as const);
    }),
);

/** The common root of a word's forms; the word in small letters. */
export function rootOf(word: string): string {
  return IRREGULAR.get(word) ?? strip(word);
}

import { isBreak, type Token, wordSet } from './words.ts';

/**
 * How far a "no" reaches. It is followed backwards from the thing that was named: over words that let a denial
 * through ("no sign of any smoke"), and over the members of a list ("no smoke, flames or sparks"). Anything else, such
 * as "but", "only", "with", a person or another verb, ends it ("does not start, sparks fly").
 */
export interface Denial {
  /** 2: denied twice ("not without smoke"). */
  readonly times: number;
  /** `list`: a member of a list that ends in "or"; `and`: one joined by "and"; `comma`: one after a comma alone. */
  readonly over: 'nothing' | 'list' | 'and' | 'comma';
  /** By a word that denies things ("no"), not happenings ("not"). */
  readonly noun: boolean;
  /** Words right before the thing that are not known to let a denial through. */
  readonly unknown: number;
  /** Verbs on the way; they do not go with a noun's denial ("no see"). */
  readonly verbs: number;
}

/** What counts as denying and what lets it through; the danger reader is stricter than the complaint reader. */
export interface DenialRules {
  /** Roots that deny besides the plain ones: "lost", "fails". */
  readonly alsoDeny: ReadonlySet<string>;
  /** Words that let a denial through besides the plain ones. */
  readonly alsoThrough: ReadonlySet<string>;
  /** Is this token part of something named, that is, may it be a member of a list? */
  readonly isNamed: (index: number) => boolean;
}

const DENY_NOUN = wordSet('no zero nil');
const DENY_ANY = wordSet('not never without neither nor none nobody noone nothing nowhere');
// Not "much", "big" or "loud": "not much smoke" is smoke.
const THROUGH = wordSet(
  'any a an the single slightest least bit of sign signs trace traces hint kind sort sorts type visible visibly obvious real ' +
    'actual strange weird funny odd bad unusual particular such other noticeable apparent sudden further electric electrical ' +
    'own proper slight our my your its this that even ever really actually at all both either',
);
const THROUGH_VERB = wordSet(
  'see seen seeing saw notice noticed noticing hear heard hearing smell smelt smelled smelling feel felt have has had having get got getting gets ' +
    'give gives gave given giving show shows showed shown showing make makes made making produce produces produced emit emitted be is are was were been ' +
    'being am do does did done detect detected find found observe observed experience experienced spot spotted anything something someone ' +
    'anyone anybody one yet like actually from go goes went gone going catch caught',
);
const BARRIER = wordSet(
  'i you he she we they it there here but however though although still only except with then while whereas instead ' +
    'because so since until till unless when if after before which who where what why how work works worked working ok ' +
    'okay fine yes just also to for in on by as than turn turns turned turning start starts started starting stop ' +
    'stops stopped switch switches switched power comes came come coming keeps kept',
);
const AFTER_NOT = wordSet('only just merely sure certain simply alone');

/** Is this word a denial of its own? "no," and "no." answer what was asked before, and "not only" denies nothing. */
export function denies(tokens: readonly Token[], index: number, rules: DenialRules): boolean {
  const token = tokens[index];
  if (token?.kind !== 'word') return false;
  const next = tokens[index + 1];
  if (isBreak(next)) return false;
  if (token.word === 'not' || token.word === 'no') {
    if (next && AFTER_NOT.has(next.word)) return false;
  }
  return DENY_NOUN.has(token.word) || DENY_ANY.has(token.word) || rules.alsoDeny.has(token.root);
}

const MOST_STEPS = 14;
const JOINING = new Set(['or', 'and']);

/** Does a list that goes on behind this place end in "or"? "no smoke, |flames| or sparks" */
function endsInOr(tokens: readonly Token[], end: number, rules: DenialRules): boolean {
  for (let i = end; i < Math.min(tokens.length, end + MOST_STEPS); i += 1) {
    const token = tokens[i];
    if (token?.word === 'or' || token?.word === 'nor') return true;
    if (!token || (token.kind !== 'comma' && !rules.isNamed(i) && !THROUGH.has(token.word))) return false;
  }
  return false;
}

/** The denial that reaches what is named in tokens [start, end), or null. */
export function denialBefore(
  tokens: readonly Token[],
  start: number,
  end: number,
  rules: DenialRules,
): Denial | null {
  let over: Denial['over'] = 'nothing';
  let unknown = 0;
  let strangers = 0;
  let verbs = 0;
  let members = 1;
  for (let i = start - 1; i >= Math.max(0, start - MOST_STEPS); i -= 1) {
    const token = tokens[i];
    if (!token || token.kind === 'stop' || token.kind === 'question') return null;
    if (token.kind === 'comma' || JOINING.has(token.word)) {
      // "no smoke, or flames": the comma before the joining word adds nothing.
      if (members > 0) {
        if (token.word === 'or') over = over === 'nothing' ? 'list' : over;
        else if (token.word === 'and') over = over === 'nothing' ? 'and' : over;
        else if (over === 'nothing') over = endsInOr(tokens, end, rules) ? 'list' : 'comma';
        members = 0;
        strangers = 0;
      }
      continue;
    }
    if (denies(tokens, i, rules)) {
      if (members === 0) return null;
      const noun = DENY_NOUN.has(token.word) && !/^(?:one|body)$/.test(tokens[i + 1]?.word ?? '');
      let before = i - 1;
      while (before >= 0 && THROUGH_VERB.has(tokens[before]?.word ?? '')) before -= 1;
      const twice = before >= 0 && /^(?:not|never)$/.test(tokens[before]?.word ?? '');
      return { times: twice ? 2 : 1, over, noun, unknown, verbs };
    }
    members += 1;
    if (rules.isNamed(i)) {
      if (over === 'nothing') return null;
    } else if (THROUGH.has(token.word) || rules.alsoThrough.has(token.word)) {
      // lets it through
    } else if (THROUGH_VERB.has(token.word)) verbs += 1;
    else if (BARRIER.has(token.word)) return null;
    else {
      // A list may name things that nobody listens for ("no noise or smoke"); beside the thing itself one word may stand.
      strangers += 1;
      if (over === 'nothing') unknown += 1;
      if (strangers > (over === 'nothing' ? 1 : 2)) return null;
    }
  }
  return null;
}

import { type Finding, unknownName } from '../files/finding.ts';
import { type Draft, entries } from './draft.ts';

/** Patterns over `ideas` that name ideas which exist. */
export function vocabularyFindings(draft: Draft): Finding[] {
  const ideas = Object.keys(draft.flow.ideas ?? {});
  if (!draft.sound(['ideas'])) return [];
  return entries(draft.flow.complaints).flatMap(([i, complaint]) =>
    (['words', 'never'] as const).flatMap((list) =>
      entries(complaint[list]).flatMap(([j, pattern]) =>
        pattern
          .trim()
          .split(/\s+/)
          .filter((item) => item !== 'then' && item !== '')
          .map((item) => item.replace(/^[+-]/, ''))
          .filter((idea) => !ideas.includes(idea))
          .map((idea) => unknownName(['complaints', i, list, j], 'value', 'idea', idea, ideas)),
      ),
    ),
  );
}

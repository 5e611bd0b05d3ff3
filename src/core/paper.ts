import type { Paper } from '../../shared/outbound.ts';
import { jobCard } from './card.ts';
import { pictured } from './explain.ts';
import type { View } from './next.ts';

/** The job card to print. Who is suspected is pictured as long as that is a question. */
export function paperOf(view: View): Paper {
  const { kase } = view;
  const picture = kase.state === 'settled' ? null : pictured(view);
  return {
    kind: 'paper',
    words: 'The job card, one page to print.',
    card: jobCard(view, kase.handover?.next ?? null),
    ...(picture ? { picture } : {}),
  };
}

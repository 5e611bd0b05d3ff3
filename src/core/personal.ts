import type { Event } from '../../shared/case.ts';

/** Which fields of an event hold what a person typed, is called, or sent; and whose they are. */
export interface Personal {
  readonly person: string;
  /** By field, as they stand in the event. */
  readonly text: Record<string, unknown>;
}

/** The personal text of an event; null when there is none in it, or none left. */
export function personal(event: Event): Personal | null {
  const text = textOf(event);
  if (Object.values(text).every((value) => value.length === 0)) return null;
  return { person: event.kind === 'joined' ? event.person : event.by, text: { ...text } };
}

/** The event with that text emptied; its keys stay in their order. */
export function withoutPersonal<E extends Event>(event: E): E {
  const emptied = Object.entries(textOf(event)).map(([field, value]) => [
    field,
    typeof value === 'string' ? '' : [],
  ]);
  return { ...event, ...Object.fromEntries(emptied) };
}

/** Every kind of event says here whether it holds personal text: ids, numbers and the desk's own words are none. */
function textOf(event: Event): Readonly<Record<string, string | readonly string[]>> {
  switch (event.kind) {
    case 'opened':
      return { words: event.words, place: event.place };
    case 'joined':
      return { name: event.name };
    case 'noted':
    case 'advised':
    case 'flagged':
      return { words: event.words };
    case 'photographed':
      return { references: event.references };
    case 'unflagged':
    case 'cleared':
      return { reason: event.reason };
    case 'read':
      return { typed: event.typed };
    case 'complaint-stated':
    case 'detail-stated':
    case 'level-stated':
    case 'meter-stated':
    case 'answered':
    case 'set-aside':
    case 'part-ordered':
    case 'part-arrived':
    case 'remedy-done':
    case 'tested':
    case 'safety-tested':
    case 'suggested':
    case 'flow-taken':
    case 'flow-left':
    case 'flow-changed':
    case 'numbers-taken':
    case 'put':
    case 'proposed':
    case 'undone':
    case 'doubted':
    case 'guessed':
    case 'unplugged':
    case 'stage-opened':
    case 'shut':
    case 'proof-read':
    case 'proof-dropped':
    case 'proven':
    case 'live-agreed':
    case 'alarmed':
    case 'all-clear':
    case 'rested':
    case 'woken':
    case 'handed-over':
    case 'taken':
    case 'handed-back':
    case 'stopped':
    case 'taken-up-again':
    case 'settled':
    case 'follow-up-set':
    case 'follow-up-due':
    case 'followed-up':
    case 'follow-up-reopened':
    case 'follow-ups-refused':
    case 'hour-stated':
    case 'forgotten':
    case 'erased':
      return {};
    default:
      return event satisfies never;
  }
}

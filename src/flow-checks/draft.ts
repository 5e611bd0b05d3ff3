import type { Flow } from '../../shared/flow.ts';
import type { Path } from '../files/finding.ts';
import { at } from '../files/schema-findings.ts';

/** A value of which any part may be missing or unknown; what is there has its right type. */
export type Loose<T> = T extends readonly (infer U)[]
  ? readonly (Loose<U> | undefined)[]
  : T extends object
    ? { readonly [K in keyof T]?: Loose<T[K]> | undefined }
    : T;

/**
 * A flow as far as it could be read. The checks between its parts run on this, so that one mistake hides no other;
 * they say nothing about places that are not `sound`.
 */
export interface Draft {
  readonly flow: Loose<Flow>;
  /** Nothing is known to be wrong at this place, in it or around it. */
  sound(path: Path): boolean;
  /** Ids of the entries of a list, as written. */
  ids(list: Path): Ids;
}

export interface Ids {
  readonly known: readonly string[];
  /** False when an entry's id could not be read: a name that is not known may be that one. */
  readonly complete: boolean;
}

/** `data`: as read from the file. `broken`: what the schema found wrong. */
export function draftOf(data: unknown, broken: readonly Path[]): Draft {
  const sound = soundness(broken);
  const known = new Map<string, Ids>();
  return {
    // The schema vouches for every value that it did not name in `broken`, and those are taken out.
    flow: without(data, broken) as Loose<Flow>,
    sound,
    ids(list) {
      const key = list.join('/');
      const ids = known.get(key) ?? idsIn(at(data, list), sound(list));
      known.set(key, ids);
      return ids;
    },
  };
}

function idsIn(list: unknown, sound: boolean): Ids {
  if (!Array.isArray(list)) return { known: [], complete: list === undefined && sound };
  const known = list.map((entry) => at(entry, ['id'])).filter((id) => typeof id === 'string');
  return { known, complete: known.length === list.length };
}

interface Places {
  broken: boolean;
  readonly below: Map<string | number, Places>;
}

/** As a tree, so that a file full of mistakes is still checked at once. */
function soundness(broken: readonly Path[]): (path: Path) => boolean {
  const root: Places = { broken: false, below: new Map() };
  for (const path of broken) {
    let at = root;
    for (const part of path) {
      const next = at.below.get(part) ?? { broken: false, below: new Map() };
      at.below.set(part, next);
      at = next;
    }
    at.broken = true;
  }
  return (path) => {
    let at = root;
    for (const part of path) {
      if (at.broken) return false;
      const next = at.below.get(part);
      if (!next) return true;
      at = next;
    }
    return false;
  };
}

/** Entries of lists leave a hole, so that the places of the others stay. */
function without(data: unknown, broken: readonly Path[]): unknown {
  if (broken.some((path) => path.length === 0) || typeof data !== 'object' || data === null) return {};
  const copy = structuredClone(data);
  for (const path of broken) {
    const parent = at(copy, path.slice(0, -1));
    const last = path.at(-1) as string | number;
    if (Array.isArray(parent) && typeof last === 'number') parent[last] = undefined;
    else if (typeof parent === 'object' && parent !== null) delete (parent as Record<string, unknown>)[last];
  }
  return copy;
}

/** The entries of a list that could be read, each with its place. */
export function entries<T>(list: readonly (T | undefined)[] | undefined): [number, T][] {
  return (list ?? []).flatMap((entry, i): [number, T][] => (entry === undefined ? [] : [[i, entry]]));
}

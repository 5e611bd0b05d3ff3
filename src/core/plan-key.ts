import type { Compiled } from './compile.ts';

/**
 * Everything that `compile` lets vary within one flow, one community and one level. It is no text to read: numbers stand
 * in it as they stand in memory, since writing them out takes longer than all the rest of a turn's compiling.
 */
export function planKey({ marks, state }: Compiled): string {
  const { weights } = state;
  return [
    marks,
    state.open,
    state.charged,
    state.altered,
    state.pending.join(),
    units(state.done),
    units(state.found),
    units(new Uint16Array(weights.buffer, weights.byteOffset, 4 * weights.length)),
  ].join('|');
}

/** Of one flow, all that have the same marks have the same length. */
const units = (numbers: Uint8Array | Int8Array | Uint16Array): string =>
  String.fromCharCode.apply(null, numbers as unknown as number[]);

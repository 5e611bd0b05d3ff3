/** The known name somebody most likely meant, or undefined when nothing is near enough to be proposed. */
export function nearest(written: string, known: readonly string[]): string | undefined {
  const plain = fold(written);
  let best: string | undefined;
  let bestDistance = Infinity;
  for (const name of known) {
    const other = fold(name);
    const allowed = Math.max(1, Math.floor(Math.max(plain.length, other.length) / 3));
    if (Math.abs(plain.length - other.length) > allowed) continue;
    const distance = apart(plain, other);
    if (distance <= allowed && distance < bestDistance) {
      best = name;
      bestDistance = distance;
    }
  }
  return best;
}

/** Capitals, underscores and spaces are the commonest slips in a name and count for nothing. */
const fold = (name: string): string =>
  name
    .trim()
    .toLowerCase()
    .replace(/[\s_]+/g, '-');

/** Letters missing, added, wrong, or swapped with a neighbour (optimal string alignment). */
function apart(a: string, b: string): number {
  let older: number[] = [];
  let old = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const same = a[i - 1] === b[j - 1] ? 0 : 1;
      let least = Math.min((old[j] ?? 0) + 1, (row[j - 1] ?? 0) + 1, (old[j - 1] ?? 0) + same);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) {
        least = Math.min(least, (older[j - 2] ?? 0) + 1);
      }
      row.push(least);
    }
    older = old;
    old = row;
  }
  return old[b.length] ?? 0;
}

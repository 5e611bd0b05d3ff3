import { randomFillSync } from 'node:crypto';

/**
 * UUID version 7 (RFC 9562): unique, and ordered by time, so that an index over it grows at its end. Within one
 * millisecond a counter keeps the order (section 6.2, method 1).
 */
export function timeIds(now: () => number): () => string {
  let last = 0;
  let count = 0;
  // Asking for eight bytes costs as much as asking for many.
  const pool = Buffer.alloc(8 * 512);
  let used = pool.length;
  return () => {
    const at = now();
    if (at > last) {
      last = at;
      count = 0;
    } else if (++count > 0xfff) {
      last += 1;
      count = 0;
    }
    const time = last.toString(16).padStart(12, '0');
    if (used === pool.length) {
      randomFillSync(pool);
      used = 0;
    }
    const random = pool.subarray(used, used + 8);
    used += 8;
    random[0] = ((random[0] as number) & 0x3f) | 0x80;
    const tail = random.toString('hex');
    return `${time.slice(0, 8)}-${time.slice(8)}-7${count.toString(16).padStart(3, '0')}-${tail.slice(0, 4)}-${tail.slice(4)}`;
  };
}

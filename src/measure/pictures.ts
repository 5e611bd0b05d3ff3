import type { Flow } from '../../shared/flow.ts';
import { noCache } from '../cache/cache.ts';
import { createDraw } from '../pictures/draw.ts';
import { random } from '../rehearsal/random.ts';

/** How long a picture takes to draw, and to have again from memory, milliseconds. */
export interface PictureFigures {
  readonly count: number;
  readonly drawn: { readonly p50: number; readonly p99: number };
  readonly again: { readonly p50: number; readonly p99: number };
  /** Mean size of a picture, bytes. */
  readonly bytes: number;
}

export async function measurePictures(flow: Flow, count: number): Promise<PictureFigures> {
  const draw = createDraw({ flows: [flow], cache: noCache });
  const chance = random('pictures');
  const places = [...(flow.map?.parts ?? []), ...(flow.map?.leads ?? [])].map(({ id }) => id);
  const pictures = Array.from({ length: count }, (_, i) => {
    const weights = flow.faults.map(() => chance.next() ** 3);
    const total = weights.reduce((sum, weight) => sum + weight, 0);
    const suspects = flow.faults
      .map(({ id, name }, f) => ({ fault: id, name, share: (weights[f] as number) / total }))
      .sort((a, b) => b.share - a.share)
      .slice(0, 5);
    return {
      flow: flow.flow,
      suspects,
      marks: places.length > 0 ? [places[i % places.length] as string] : [],
    };
  });
  // The first one loads fonts and the renderer, once in the life of a desk.
  await draw({ flow: flow.flow, suspects: [], marks: [] });
  const drawn: number[] = [];
  const again: number[] = [];
  let bytes = 0;
  for (const picture of pictures) {
    let began = performance.now();
    const { png } = await draw(picture);
    drawn.push(performance.now() - began);
    bytes += png.length / count;
    began = performance.now();
    await draw(picture);
    again.push(performance.now() - began);
  }
  return { count, drawn: quantiles(drawn), again: quantiles(again), bytes };
}

function quantiles(times: readonly number[]): { readonly p50: number; readonly p99: number } {
  const sorted = [...times].sort((a, b) => a - b);
  const at = (q: number): number => sorted[Math.min(sorted.length - 1, Math.floor(q * sorted.length))] ?? 0;
  return { p50: at(0.5), p99: at(0.99) };
}

export function printPictures({ count, drawn, again, bytes }: PictureFigures): void {
  console.log(
    `${count} pictures of where a case stands: drawn p50 ${drawn.p50.toFixed(1)} ms, p99 ${drawn.p99.toFixed(1)} ms; had again p50 ${again.p50.toFixed(3)} ms, p99 ${again.p99.toFixed(3)} ms; ${Math.round(bytes / 1024)} kB each.`,
  );
}

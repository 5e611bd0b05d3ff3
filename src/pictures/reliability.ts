import type { Bin } from '../scores/bins.ts';
import type { Placed } from './appliance.ts';
import { linesOf, widthOf } from './font.ts';
import { circle, line, rect, svg, text } from './svg.ts';

/** Whether "80 %" means 80 %: what was said against what came, with its interval; on the line it would be perfect. */
export const reliabilityPicture = (bins: readonly Bin[], cases: number): string =>
  reliabilitySheet(bins, cases).svg;

export interface ReliabilitySheet {
  readonly svg: string;
  readonly width: number;
  readonly height: number;
  /** Where every text is. */
  readonly placed: readonly Placed[];
  /** Where each bin's point is, in order. */
  readonly points: readonly { readonly x: number; readonly y: number }[];
}

const size = 440;
const left = 76;
const top = 118;
const margin = 24;
/** Under the plot: how many cases each bin holds. */
const strip = { top: 70, height: 60 };
const width = left + size + 2 * margin;
const height = top + size + strip.top + strip.height + margin;

export function reliabilitySheet(bins: readonly Bin[], cases: number): ReliabilitySheet {
  const parts: string[] = [];
  const placed: Placed[] = [];
  const write = (
    x: number,
    y: number,
    words: string,
    { size: height, anchor = 'start', bold = false }: Style,
  ): void => {
    const wide = widthOf(words, height, bold);
    const from = anchor === 'start' ? x : anchor === 'middle' ? x - wide / 2 : x - wide;
    parts.push(text(x, y, words, { size: height, anchor, bold }));
    placed.push({ x: from, y: y - height, width: wide, height, what: words });
  };
  const across = (p: number): number => left + p * size;
  const up = (p: number): number => top + (1 - p) * size;

  for (const [i, words] of linesOf(title, width - 2 * margin, 18, 2, true).entries())
    write(margin, 34 + i * 24, words, { size: 18, bold: true });
  write(margin, 84, `${cases} cases; lines: 95 % intervals`, { size: 14 });
  write(margin, top - 12, 'came true', { size: 14 });
  for (const p of [0, 0.25, 0.5, 0.75, 1]) {
    parts.push(
      line(across(p), up(0), across(p), up(1), grid),
      line(across(0), up(p), across(1), up(p), grid),
    );
    write(across(p), up(0) + 22, `${100 * p} %`, { size: 14, anchor: 'middle' });
    write(across(0) - 8, up(p) + 5, `${100 * p} %`, { size: 14, anchor: 'end' });
  }
  parts.push(
    line(across(0), up(0), across(1), up(1), 'stroke="#888888" stroke-width="2" stroke-dasharray="6 6"'),
  );
  const points = bins.map(({ forecast, share }) => ({ x: across(forecast), y: up(share) }));
  for (const [i, { low, high }] of bins.entries()) {
    const { x, y } = points[i] as { x: number; y: number };
    parts.push(
      line(x, up(low), x, up(high), 'stroke="#1a1a1a" stroke-width="2"'),
      circle(x, y, 7, 'fill="#b0281a" stroke="#1a1a1a"'),
    );
  }
  write(across(0.5), up(0) + 44, 'said', { size: 15, anchor: 'middle' });

  const base = top + size + strip.top + strip.height;
  const most = Math.max(1, ...bins.map(({ n }) => n));
  write(left - 8, base, 'cases', { size: 14, anchor: 'end' });
  parts.push(line(across(0), base, across(1), base, grid));
  for (const { from, to, n } of bins) {
    const tall = Math.max(1, ((strip.height - 20) * n) / most);
    parts.push(
      rect(
        { x: across(from) + 2, y: base - tall, width: across(to) - across(from) - 4, height: tall },
        'fill="#c9c9c9"',
      ),
    );
    write(across((from + to) / 2), base - tall - 4, String(n), { size: 13, anchor: 'middle' });
  }
  return { svg: svg(width, height, parts), width, height, placed, points };
}

interface Style {
  readonly size: number;
  readonly anchor?: 'start' | 'middle' | 'end';
  readonly bold?: boolean;
}

const title = 'Was the likeliest fault right as often as it was said to be?';
const grid = 'stroke="#dddddd" stroke-width="1"';

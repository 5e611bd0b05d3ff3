import type { Bin } from '../scores/rules.ts';
import { circle, line, svg, text } from './svg.ts';

/** Whether "80 %" means 80 %: what was said against what came, with its interval; on the line it would be perfect. */
export function reliabilityPicture(bins: readonly Bin[], cases: number): string {
  const size = 420;
  const left = 70;
  const top = 50;
  const x = (p: number): number => left + p * size;
  const y = (p: number): number => top + (1 - p) * size;
  const grid = [0, 0.25, 0.5, 0.75, 1];
  const most = Math.max(1, ...bins.map(({ n }) => n));
  const parts = [
    text(left, 28, `Was the likeliest fault right as often as it said? ${cases} cases`, {
      size: 17,
      bold: true,
    }),
    ...grid.flatMap((p) => [
      line(x(p), y(0), x(p), y(1), 'stroke="#dddddd" stroke-width="1"'),
      line(x(0), y(p), x(1), y(p), 'stroke="#dddddd" stroke-width="1"'),
      text(x(p), y(0) + 22, `${100 * p} %`, { size: 14, anchor: 'middle' }),
      text(x(0) - 8, y(p) + 5, `${100 * p} %`, { size: 14, anchor: 'end' }),
    ]),
    line(x(0), y(0), x(1), y(1), 'stroke="#888888" stroke-width="2" stroke-dasharray="6 6"'),
    ...bins.flatMap(({ forecast, share, low, high, n }) => [
      line(x(forecast), y(low), x(forecast), y(high), 'stroke="#1a1a1a" stroke-width="2"'),
      circle(
        x(forecast),
        y(share),
        4 + 8 * Math.sqrt(n / most),
        'fill="#b0281a" fill-opacity="0.85" stroke="#1a1a1a"',
      ),
      text(x(forecast) + 14, y(share) + 5, String(n), { size: 13 }),
    ]),
    text(x(0.5), y(0) + 48, 'said', { size: 15, anchor: 'middle' }),
    text(14, top - 12, 'came true', { size: 15 }),
  ];
  return svg(left + size + 60, top + size + 64, parts);
}

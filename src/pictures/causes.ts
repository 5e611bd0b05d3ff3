import type { Drawn, Placed } from './appliance.ts';
import { linesOf, widthOf } from './font.ts';
import { circle, rect, text } from './svg.ts';

/** The likely causes as bars, each with its number on the map, its name and its chance. */
export interface Cause {
  readonly number: number;
  readonly name: string;
  readonly share: number;
}

const size = 24;
const gap = 14;

/** "<1 %" and ">99 %": nothing is ever quite ruled out, or certain. */
export function percent(share: number): string {
  if (share < 0.01) return '<1 %';
  if (share > 0.99) return '>99 %';
  return `${Math.round(share * 100)} %`;
}

export function bars(
  causes: readonly Cause[],
  numbered: boolean,
  at: { readonly x: number; readonly y: number; readonly width: number },
): Drawn {
  const parts: string[] = [];
  const placed: Placed[] = [];
  const indent = numbered ? 44 : 0;
  const figure = widthOf('>99 %', size, true) + 8;
  let y = at.y;
  for (const { number, name, share } of causes) {
    const lines = linesOf(name, at.width - indent - figure, size, 2);
    if (numbered) {
      parts.push(
        circle(at.x + 16, y + 15, 15, 'fill="#ffffff" stroke="#1a1a1a" stroke-width="2.5"'),
        text(at.x + 16, y + 21.5, String(number), { size: 18, bold: true, anchor: 'middle' }),
      );
      placed.push({ x: at.x + 1, y, width: 30, height: 30, what: `number ${number}` });
    }
    for (const [i, line] of lines.entries()) {
      parts.push(text(at.x + indent, y + size - 1 + i * (size + 5), line, { size }));
      placed.push({
        x: at.x + indent,
        y: y + i * (size + 5),
        width: widthOf(line, size),
        height: size + 4,
        what: line,
      });
    }
    parts.push(text(at.x + at.width, y + size - 1, percent(share), { size, bold: true, anchor: 'end' }));
    const width = widthOf(percent(share), size, true);
    placed.push({ x: at.x + at.width - width, y, width, height: size + 4, what: percent(share) });
    y += Math.max(1, lines.length) * (size + 5) + 3;
    const whole = { x: at.x + indent, y, width: at.width - indent, height: 12 };
    parts.push(
      rect(whole, 'fill="#e4e4e4" rx="3"'),
      rect(
        { ...whole, width: Math.max(3, whole.width * Math.min(1, Math.max(0, share))) },
        'fill="#b0281a" rx="3"',
      ),
    );
    y += 12 + gap;
  }
  return { parts, height: y - at.y, placed };
}

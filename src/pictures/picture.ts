import type { z } from 'zod';
import type { Flow } from '../../shared/flow.ts';
import type { Picture } from '../../shared/outbound.ts';
import { appliance, type Placed, type Suspicion } from './appliance.ts';
import { bars } from './causes.ts';
import { linesOf } from './font.ts';
import { line, svg, text } from './svg.ts';

/** "Where are we?" as a picture for a phone: the appliance with its suspects above, the likely causes below. */

export const pictureWidth = 720;
const margin = 18;
const mapHeight = 470;
const title = 26;

export interface Sheet {
  readonly svg: string;
  readonly width: number;
  readonly height: number;
  /** Where labels, numbers and figures stand. */
  readonly placed: readonly Placed[];
}

/** The same for the same picture and flow. `flow` undefined: only the causes can be shown. */
export function sheet({ suspects, marks }: z.infer<typeof Picture>, flow: Flow | undefined): Sheet {
  const inner = pictureWidth - 2 * margin;
  const shown = suspects.slice(0, 6).map((one, i) => ({ ...one, number: i + 1 }));
  const parts: string[] = [];
  const placed: Placed[] = [];
  let y = margin;
  const map = flow?.map;
  if (map && map.parts.length > 0) {
    const suspicions: Suspicion[] = shown.map(({ fault, share, number }) => ({
      number,
      share,
      marks: share < 0.01 ? [] : (flow.faults.find(({ id }) => id === fault)?.marks ?? []),
    }));
    const drawn = appliance(map, suspicions, marks, { x: margin, y, width: inner, height: mapHeight });
    parts.push(...drawn.parts);
    placed.push(...drawn.placed);
    y += drawn.height + 14;
    const named = [...map.parts, ...map.leads]
      .filter(({ id }) => marks.includes(id))
      .map(({ label }) => label);
    if (named.length > 0) {
      const [words = ''] = linesOf(`this step: ${named.join(', ')}`, inner - 64, 20, 1);
      parts.push(
        line(margin, y + 9, margin + 52, y + 9, 'stroke="#1a1a1a" stroke-width="6" stroke-dasharray="12 6"'),
        text(margin + 64, y + 16, words, { size: 20 }),
      );
      y += 32;
    }
  }
  if (shown.length > 0) {
    parts.push(text(margin, y + title - 2, 'Most likely now', { size: title, bold: true }));
    y += title + 14;
    const drawn = bars(shown, map !== undefined, { x: margin, y, width: inner });
    parts.push(...drawn.parts);
    placed.push(...drawn.placed);
    y += drawn.height;
  }
  const height = Math.ceil(y + margin / 2);
  return { svg: svg(pictureWidth, height, parts), width: pictureWidth, height, placed };
}

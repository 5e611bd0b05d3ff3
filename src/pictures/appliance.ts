import type { Flow } from '../../shared/flow.ts';
import { widthOf } from './font.ts';
import { type Box, circle, inside, line, overlaps, rect, text } from './svg.ts';

/** The appliance's map: parts and leads, the suspects shaded and numbered, what the open step concerns marked. */
export interface Suspicion {
  /** The number that stands beside it in the list of causes. */
  readonly number: number;
  /** From 0 to 1. */
  readonly share: number;
  /** Ids of parts and leads. */
  readonly marks: readonly string[];
}

/** A label or a badge as it was placed, for whoever checks that none covers another. */
export interface Placed extends Box {
  readonly what: string;
}

export interface Drawn {
  readonly parts: readonly string[];
  readonly height: number;
  readonly placed: readonly Placed[];
}

type Map = NonNullable<Flow['map']>;

const badge = 15;
const labelSize = 17;
const shade = '#b0281a';
const ink = '#1a1a1a';

/** At most `width` wide, its left upper corner at `x`, `y`. */
export function appliance(
  map: Map,
  suspects: readonly Suspicion[],
  marked: readonly string[],
  at: { readonly x: number; readonly y: number; readonly width: number; readonly height: number },
): Drawn {
  const scale = Math.min(at.width / map.width, at.height / map.height);
  const left = at.x + (at.width - map.width * scale) / 2;
  const frame: Box = { x: left, y: at.y, width: map.width * scale, height: map.height * scale };
  const boxes = new globalThis.Map(
    map.parts.map(({ id, x, y, width, height }) => [
      id,
      clipped(
        { x: left + x * scale, y: at.y + y * scale, width: width * scale, height: height * scale },
        frame,
      ),
    ]),
  );
  const shareOf = (id: string): number =>
    Math.min(
      1,
      suspects.reduce((sum, one) => sum + (one.marks.includes(id) ? one.share : 0), 0),
    );
  const parts: string[] = [rect(frame, `fill="#fafafa" stroke="#888888" stroke-width="1.5" rx="6"`)];
  // The larger ones lie behind.
  const order = [...map.parts].sort((a, b) => b.width * b.height - a.width * a.height);
  for (const { id } of order) {
    const share = shareOf(id);
    const fill =
      share > 0 ? `fill="${shade}" fill-opacity="${(0.12 + 0.7 * share).toFixed(2)}"` : 'fill="#ffffff"';
    parts.push(
      rect(boxes.get(id) as Box, `${fill} fill-rule="nonzero" stroke="#777777" stroke-width="1.5" rx="3"`),
    );
  }
  const ends = new globalThis.Map(
    map.leads.map(({ id, from, to }) => [id, [centre(boxes.get(from)), centre(boxes.get(to))] as const]),
  );
  for (const [id, [from, to]] of ends) {
    const share = shareOf(id);
    parts.push(
      share > 0
        ? line(
            from.x,
            from.y,
            to.x,
            to.y,
            `stroke="${shade}" stroke-width="${(4 + 6 * share).toFixed(1)}" stroke-opacity="${(0.35 + 0.6 * share).toFixed(2)}" stroke-linecap="round"`,
          )
        : line(from.x, from.y, to.x, to.y, 'stroke="#999999" stroke-width="2.5"'),
    );
  }

  const placed: Placed[] = [];
  const free = (box: Box): boolean => inside(box, frame) && placed.every((other) => !overlaps(box, other));
  const anchor = (id: string): { x: number; y: number } => {
    const lead = ends.get(id);
    return lead ? { x: (lead[0].x + lead[1].x) / 2, y: (lead[0].y + lead[1].y) / 2 } : centre(boxes.get(id));
  };
  const known = (id: string): boolean => boxes.has(id) || ends.has(id);

  // What the step concerns: a thick dashed outline and a pin, to be seen without colour, too.
  for (const id of marked.filter(known)) {
    const box = boxes.get(id);
    const lead = ends.get(id);
    if (box)
      parts.push(
        rect(grown(box, 4), `fill="none" stroke="${ink}" stroke-width="5" stroke-dasharray="12 6" rx="5"`),
      );
    else if (lead)
      parts.push(
        line(
          lead[0].x,
          lead[0].y,
          lead[1].x,
          lead[1].y,
          `stroke="${ink}" stroke-width="7" stroke-dasharray="14 7"`,
        ),
      );
  }
  for (const { number, marks } of suspects) {
    for (const id of marks.filter(known)) {
      const spot = near(anchor(id), badge, free);
      if (!spot) continue;
      placed.push({ ...around(spot, badge), what: `badge ${number}` });
      parts.push(
        circle(spot.x, spot.y, badge, `fill="#ffffff" stroke="${ink}" stroke-width="2.5"`),
        text(spot.x, spot.y + 6.5, String(number), { size: 18, bold: true, anchor: 'middle' }),
      );
    }
  }
  // Names, as far as they find room: those of the step and of suspects first, then of what is large.
  const rank = (id: string): number => (marked.includes(id) ? 2 : 0) + shareOf(id);
  for (const { id, label } of [...order].sort((a, b) => rank(b.id) - rank(a.id))) {
    const box = boxes.get(id) as Box;
    const width = widthOf(label, labelSize) + 6;
    const wanted = rank(id) > 0;
    const spots = [
      { x: box.x + 4, y: box.y + 3 },
      { x: box.x + (box.width - width) / 2, y: box.y + box.height - labelSize - 6 },
      ...(wanted
        ? [
            { x: box.x + (box.width - width) / 2, y: box.y + box.height + 5 },
            { x: box.x + (box.width - width) / 2, y: box.y - labelSize - 9 },
            { x: box.x + box.width + 5, y: box.y + (box.height - labelSize) / 2 },
            { x: box.x - width - 5, y: box.y + (box.height - labelSize) / 2 },
          ]
        : []),
    ];
    const spot = spots.find((one, i) => {
      const at = { ...one, width, height: labelSize + 4 };
      return free(at) && (i > 1 || inside(at, box));
    });
    if (!spot) continue;
    const at = { ...spot, width, height: labelSize + 4 };
    placed.push({ ...at, what: label });
    parts.push(
      rect(at, 'fill="#ffffff" fill-opacity="0.82" rx="3"'),
      text(spot.x + 3, spot.y + labelSize - 1, label, { size: labelSize, bold: wanted }),
    );
  }
  return { parts, height: frame.height, placed };
}

const centre = (box: Box | undefined): { x: number; y: number } =>
  box ? { x: box.x + box.width / 2, y: box.y + box.height / 2 } : { x: 0, y: 0 };

const around = ({ x, y }: { x: number; y: number }, r: number): Box => ({
  x: x - r,
  y: y - r,
  width: 2 * r,
  height: 2 * r,
});

const grown = ({ x, y, width, height }: Box, by: number): Box => ({
  x: x - by,
  y: y - by,
  width: width + 2 * by,
  height: height + 2 * by,
});

function clipped(box: Box, frame: Box): Box {
  const x = Math.max(box.x, frame.x);
  const y = Math.max(box.y, frame.y);
  return {
    x,
    y,
    width: Math.max(1, Math.min(box.x + box.width, frame.x + frame.width) - x),
    height: Math.max(1, Math.min(box.y + box.height, frame.y + frame.height) - y),
  };
}

/** The free place nearest to a point, on rings around it; null where there is none close by. */
function near(
  point: { readonly x: number; readonly y: number },
  r: number,
  free: (box: Box) => boolean,
): { x: number; y: number } | null {
  for (let ring = 0; ring <= 6; ring++) {
    const around8 = ring === 0 ? 1 : 8;
    for (let step = 0; step < around8; step++) {
      const turn = (step / around8) * 2 * Math.PI;
      const spot = {
        x: point.x + Math.cos(turn) * ring * r * 1.2,
        y: point.y + Math.sin(turn) * ring * r * 1.2,
      };
      if (free(around(spot, r))) return spot;
    }
  }
  return null;
}

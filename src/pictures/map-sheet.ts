import type { Flow } from '../../shared/flow.ts';
import { appliance } from './appliance.ts';
import { pictureWidth } from './picture.ts';
import { svg, text } from './svg.ts';

/** The whole map for whoever writes it: every part and lead numbered, with its words and its id below. */
export function mapSheet({ map, access }: Flow): string {
  const margin = 18;
  const width = pictureWidth - 2 * margin;
  const named = [
    ...map.parts.map((part) => ({ ...part, where: part.stage })),
    ...map.leads.map((lead) => ({ ...lead, where: 'lead' })),
  ];
  const drawn = appliance(
    map,
    named.map(({ id }, i) => ({ number: i + 1, share: 0.001, marks: [id] })),
    [],
    { x: margin, y: margin, width, height: 470 },
  );
  const stageName = (id: string): string => access.find((stage) => stage.id === id)?.name ?? id;
  const top = margin + drawn.height + 28;
  const row = 22;
  const legend = named.map(({ id, label, where }, i) =>
    text(margin, top + i * row, `${i + 1}  ${label} (${id}); ${stageName(where)}`, { size: 15 }),
  );
  return svg(pictureWidth, top + named.length * row, [...drawn.parts, ...legend]);
}

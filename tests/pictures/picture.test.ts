import { inflateSync } from 'node:zlib';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Flow } from '../../shared/flow.ts';
import { type Cache, noCache } from '../../src/cache/cache.ts';
import { readSettings } from '../../src/config.ts';
import { readFlows } from '../../src/flows.ts';
import { percent } from '../../src/pictures/causes.ts';
import { createDraw } from '../../src/pictures/draw.ts';
import { linesOf, widthOf } from '../../src/pictures/font.ts';
import { sheet } from '../../src/pictures/picture.ts';
import { rasterise } from '../../src/pictures/rasterise.ts';
import { inside, overlaps } from '../../src/pictures/svg.ts';
import { radio } from '../core/example-flow.ts';

const read = await readSettings({});
if ('problems' in read) throw new Error(read.problems.join('\n'));
const files = await readFlows(read.settings.flowsDir);
if ('problems' in files) throw new Error('no flows');
const flows: readonly Flow[] = [...files.flows, radio];
const television = files.flows.find(({ flow }) => flow === 'flat-panel-tv') as Flow;

const suspect = (fault: string, share: number, name = fault) => ({ fault, name, share });
const any = (flow: Flow) =>
  fc.record({
    flow: fc.constant(flow.flow),
    suspects: fc.array(
      fc.record({
        fault: fc.constantFrom(...flow.faults.map(({ id }) => id), 'nothing'),
        name: fc.oneof(
          fc.constantFrom(...flow.faults.map(({ name }) => name)),
          fc.string({ unit: 'grapheme' }),
        ),
        share: fc.double({ min: 0, max: 1, noNaN: true }),
      }),
      { maxLength: 8 },
    ),
    marks: fc.subarray([
      ...(flow.map?.parts ?? []).map(({ id }) => id),
      ...(flow.map?.leads ?? []).map(({ id }) => id),
    ]),
  });

describe('a picture', () => {
  test.each(flows.map((flow) => [flow.flow, flow] as const))(
    'of %s has every label inside its frame, and none over another',
    (_, flow) => {
      fc.assert(
        fc.property(any(flow), (picture) => {
          const { placed, width, height } = sheet(picture, flow);
          const frame = { x: 0, y: 0, width, height };
          for (const [i, one] of placed.entries()) {
            expect(inside(one, frame), `${one.what} is outside`).toBe(true);
            for (const other of placed.slice(i + 1))
              expect(overlaps(one, other), `${one.what} and ${other.what}`).toBe(false);
          }
        }),
        { numRuns: 150, seed: 20261125 },
      );
    },
  );

  test('is shaded by how likely a part is, and marks what the step is about', () => {
    const [first, second] = television.faults.filter(({ marks }) => marks.length > 0);
    const opacities = (a: number, b: number): string[] => {
      const drawn = sheet(
        {
          flow: television.flow,
          suspects: [suspect(first?.id ?? '', a), suspect(second?.id ?? '', b)],
          marks: [],
        },
        television,
      ).svg;
      return [...drawn.matchAll(/fill-opacity="(0\.\d\d)" fill-rule/g)].map((found) => found[1] as string);
    };
    const likely = Math.max(...opacities(0.9, 0.1).map(Number));
    const even = Math.max(...opacities(0.5, 0.5).map(Number));
    expect(likely).toBeGreaterThan(even);
    expect(opacities(0, 0)).toEqual([]);
    const marked = (marks: string[]) => sheet({ flow: television.flow, suspects: [], marks }, television).svg;
    expect(marked([])).not.toContain('stroke-dasharray');
    for (const { id, label } of [...(television.map?.parts ?? []), ...(television.map?.leads ?? [])]) {
      expect(marked([id])).toContain('stroke-dasharray');
      expect(marked([id])).toContain(`this step: ${label}`);
    }
  });

  test('holds nobody’s markup: names are text, whatever they are', () => {
    const hostile = '</text><script>alert(1)</script>&"\u0000\u0007<image href="http://example.org/"/>';
    const { svg } = sheet(
      { flow: 'none', suspects: [suspect('a', 0.5, hostile)], marks: [hostile] },
      undefined,
    );
    for (const gone of ['<script', '<image', '\u0000', '\u0007']) expect(svg).not.toContain(gone);
    expect(svg).toContain('&lt;');
  });

  test('of an appliance without a map shows the causes alone, and with nothing to show is still a picture', async () => {
    const { map: _, ...flat } = television;
    const one = sheet({ flow: 'x', suspects: [suspect('led-failed', 0.4)], marks: [] }, undefined);
    expect(one.svg).not.toContain('<line');
    const none = await rasterise(sheet({ flow: flat.flow, suspects: [], marks: [] }, undefined).svg);
    expect(none.height).toBeGreaterThan(0);
  });

  test('is the same for the same case, has its size, and is not blank', async () => {
    const picture = { flow: television.flow, suspects: [suspect('led-failed', 0.6)], marks: ['strip-top'] };
    const { svg, width, height } = sheet(picture, television);
    const [one, two] = [await rasterise(svg), await rasterise(sheet(picture, television).svg)];
    expect(Buffer.compare(one.png, two.png)).toBe(0);
    expect([one.width, one.height]).toEqual([width, height]);
    const { size, colours } = looked(one.png);
    expect(size).toEqual([width, height]);
    expect(colours).toBeGreaterThan(20);
  });
});

test.each([
  [0, '<1 %'],
  [0.004, '<1 %'],
  [0.5, '50 %'],
  [0.994, '>99 %'],
  [1, '>99 %'],
])('a chance of %d is shown as %s', (share, words) => {
  expect(percent(share)).toBe(words);
});

test('words are broken where they have to be, and no line is wider than it may be', () => {
  fc.assert(
    fc.property(fc.string({ unit: 'grapheme' }), fc.integer({ min: 60, max: 600 }), (words, width) => {
      const lines = linesOf(words, width, 20, 3);
      expect(lines.length).toBeLessThanOrEqual(3);
      for (const line of lines) expect(widthOf(line, 20)).toBeLessThanOrEqual(width);
    }),
    { seed: 20261125 },
  );
});

describe('drawing', () => {
  const picture = { flow: television.flow, suspects: [suspect('led-failed', 0.6)], marks: [] };
  /** A cache that counts. */
  const counting = () => {
    const kept = new Map<string, unknown>();
    const counts = { got: 0, put: 0 };
    const cache: Cache = {
      ...noCache,
      async get(_, key) {
        counts.got += 1;
        return kept.get(key);
      },
      put(_, key, value) {
        counts.put += 1;
        kept.set(key, JSON.parse(JSON.stringify(value)));
      },
    };
    return { cache, counts, kept };
  };

  test('happens once for what looks the same, and whoever comes meanwhile waits for that one', async () => {
    const { cache, counts } = counting();
    const draw = createDraw({ flows, cache });
    const [one, two] = await Promise.all([draw(picture), draw(picture)]);
    expect(two).toBe(one);
    expect(await draw({ ...picture, suspects: [suspect('led-failed', 0.6004)] })).toBe(one);
    expect(counts).toEqual({ got: 1, put: 1 });
    const other = await draw({ ...picture, suspects: [suspect('led-failed', 0.7)] });
    expect(Buffer.compare(other.png, one.png)).not.toBe(0);
  });

  test('takes another desk’s picture from the cache, and draws anew what came back wrong', async () => {
    const { cache, counts, kept } = counting();
    const first = await createDraw({ flows, cache })(picture);
    const second = await createDraw({ flows, cache })(picture);
    expect(Buffer.compare(second.png, first.png)).toBe(0);
    expect(counts.put).toBe(1);
    for (const key of kept.keys()) kept.set(key, { png: 7 });
    expect(Buffer.compare((await createDraw({ flows, cache })(picture)).png, first.png)).toBe(0);
    expect(counts.put).toBe(2);
  });
});

/** Size and number of colours of a PNG with 8 bits a channel (PNG specification, third edition, 2025). */
function looked(png: Uint8Array): { readonly size: readonly [number, number]; readonly colours: number } {
  const bytes = Buffer.from(png);
  expect(bytes.subarray(0, 8)).toEqual(Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]));
  const size = [bytes.readUInt32BE(16), bytes.readUInt32BE(20)] as const;
  const data: Buffer[] = [];
  for (let at = 8; at < bytes.length; ) {
    const length = bytes.readUInt32BE(at);
    if (bytes.toString('latin1', at + 4, at + 8) === 'IDAT')
      data.push(bytes.subarray(at + 8, at + 8 + length));
    at += 12 + length;
  }
  const raw = inflateSync(Buffer.concat(data));
  const colours = new Set<number>();
  for (let at = 0; at + 4 <= raw.length; at += 4) colours.add(raw.readUInt32BE(at));
  return { size, colours: colours.size };
}

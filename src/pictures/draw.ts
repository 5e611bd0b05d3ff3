import { createHash } from 'node:crypto';
import { z } from 'zod';
import type { Draw } from '../../shared/adapter.ts';
import type { Flow } from '../../shared/flow.ts';
import { boundedMap } from '../cache/bounded-map.ts';
import type { Cache } from '../cache/cache.ts';
import { sheet } from './picture.ts';
import { type Raster, rasterise } from './rasterise.ts';

/** Raised when pictures are drawn in another way: what is in a cache then is of no use. */
const manner = 1;
const inMemory = 200;

const Kept = z.strictObject({ png: z.base64(), width: z.number(), height: z.number() });

/** Pictures by what they show: drawn once, then from memory or the cache. Who asks while one is drawn waits for that one. */
export function createDraw({
  flows,
  cache,
}: {
  readonly flows: readonly Flow[];
  readonly cache: Cache;
}): Draw {
  const memory = boundedMap<Raster>(inMemory);
  const underWay = new Map<string, Promise<Raster>>();

  async function obtain(key: string, picture: Parameters<Draw>[0], flow: Flow | undefined): Promise<Raster> {
    const kept = Kept.safeParse(await cache.get('picture', key));
    if (kept.success) return { ...kept.data, png: Buffer.from(kept.data.png, 'base64') };
    const drawn = await rasterise(sheet(picture, flow).svg);
    cache.put('picture', key, { ...drawn, png: Buffer.from(drawn.png).toString('base64') });
    return drawn;
  }

  return async (picture) => {
    const flow = flows.find((one) => one.flow === picture.flow);
    // What is shown in whole percents is drawn in whole percents.
    const rounded = {
      ...picture,
      suspects: picture.suspects.map((one) => ({ ...one, share: Math.round(one.share * 100) / 100 })),
    };
    const key = createHash('sha256')
      .update(JSON.stringify([manner, flow?.version ?? null, rounded]))
      .digest('base64url');
    const known = memory.get(key);
    if (known) return known;
    const drawing =
      underWay.get(key) ??
      obtain(key, rounded, flow).finally(() => {
        underWay.delete(key);
      });
    underWay.set(key, drawing);
    const raster = await drawing;
    memory.set(key, raster);
    return raster;
  };
}

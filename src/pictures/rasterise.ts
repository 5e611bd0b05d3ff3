import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { initWasm, Resvg } from '@resvg/resvg-wasm';
import { family, fontFiles } from './font.ts';

export interface Raster {
  readonly png: Uint8Array;
  readonly width: number;
  readonly height: number;
}

let ready: Promise<void> | null = null;

/** SVG to PNG at its own size, in WebAssembly, with our own fonts only: the same bytes on every machine. */
export async function rasterise(svg: string): Promise<Raster> {
  ready ??= readFile(createRequire(import.meta.url).resolve('@resvg/resvg-wasm/index_bg.wasm')).then((wasm) =>
    initWasm(wasm),
  );
  await ready;
  const drawing = new Resvg(svg, {
    font: { fontBuffers: [...fontFiles], defaultFontFamily: family, sansSerifFamily: family },
  });
  try {
    const image = drawing.render();
    try {
      return { png: image.asPng(), width: image.width, height: image.height };
    } finally {
      image.free();
    }
  } finally {
    drawing.free();
  }
}

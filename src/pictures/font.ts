import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import opentype from 'opentype.js';

/** The one typeface of our pictures (DejaVu Sans, shipped with the package that has it), and how wide its words are. */

const require = createRequire(import.meta.url);
const file = (name: string): Buffer => readFileSync(require.resolve(`dejavu-fonts-ttf/ttf/${name}.ttf`));

export const family = 'DejaVu Sans';
const files = { regular: file('DejaVuSans'), bold: file('DejaVuSans-Bold') };
export const fontFiles: readonly Uint8Array[] = Object.values(files);

const fonts = {
  regular: opentype.parse(arrayBuffer(files.regular)),
  bold: opentype.parse(arrayBuffer(files.bold)),
};

function arrayBuffer(buffer: Buffer): ArrayBuffer {
  return new Uint8Array(buffer).buffer;
}

const advances = new Map<string, number>();

/** Width of words in the units of the picture. Kerning only ever makes it narrower. */
export function widthOf(text: string, size: number, bold = false): number {
  const font = bold ? fonts.bold : fonts.regular;
  let units = 0;
  for (const sign of text) {
    const key = `${bold ? 'b' : ''}${sign}`;
    let advance = advances.get(key);
    if (advance === undefined) {
      advance = font.charToGlyph(sign).advanceWidth ?? font.unitsPerEm;
      if (advances.size < 5000) advances.set(key, advance);
    }
    units += advance;
  }
  return (units / font.unitsPerEm) * size;
}

/** Words on lines of at most `width`; a word that is longer is broken. The last line ends with … where there are more than `most`. */
export function linesOf(text: string, width: number, size: number, most: number, bold = false): string[] {
  const lines: string[] = [];
  let line = '';
  const push = (): void => {
    if (line !== '') lines.push(line);
    line = '';
  };
  for (const word of text.split(/\s+/).filter((one) => one !== '')) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (widthOf(longer, size, bold) <= width) {
      line = longer;
      continue;
    }
    push();
    for (const sign of word) {
      if (line !== '' && widthOf(line + sign, size, bold) > width) push();
      line += sign;
    }
  }
  push();
  if (lines.length <= most) return lines;
  let last = lines[most - 1] as string;
  while (last !== '' && widthOf(`${last}…`, size, bold) > width) last = [...last].slice(0, -1).join('');
  return [...lines.slice(0, most - 1), `${last}…`];
}

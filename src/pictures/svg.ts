import { family } from './font.ts';

/** Pieces of SVG. Every text is escaped here, and nowhere else is one put into a picture. */

export interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** Characters that XML 1.0 cannot hold are left out. */
export const escaped = (text: string): string =>
  text
    // biome-ignore lint/suspicious/noControlCharactersInRegex: these are the characters that may not stand in XML.
    .replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/g, '')
    .replace(/\p{Surrogate}/gu, '')
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;');

const n = (value: number): string => String(Math.round(value * 100) / 100);

export const rect = ({ x, y, width, height }: Box, attributes: string): string =>
  `<rect x="${n(x)}" y="${n(y)}" width="${n(width)}" height="${n(height)}" ${attributes}/>`;

export const circle = (x: number, y: number, r: number, attributes: string): string =>
  `<circle cx="${n(x)}" cy="${n(y)}" r="${n(r)}" ${attributes}/>`;

export const line = (x1: number, y1: number, x2: number, y2: number, attributes: string): string =>
  `<line x1="${n(x1)}" y1="${n(y1)}" x2="${n(x2)}" y2="${n(y2)}" ${attributes}/>`;

/** `y` is the base line. */
export const text = (
  x: number,
  y: number,
  words: string,
  {
    size,
    bold = false,
    anchor = 'start',
    fill = '#1a1a1a',
  }: {
    readonly size: number;
    readonly bold?: boolean;
    readonly anchor?: 'start' | 'middle' | 'end';
    readonly fill?: string;
  },
): string =>
  `<text x="${n(x)}" y="${n(y)}" font-family="${family}" font-size="${size}"${bold ? ' font-weight="bold"' : ''} text-anchor="${anchor}" fill="${fill}">${escaped(words)}</text>`;

export const svg = (width: number, height: number, parts: readonly string[]): string =>
  `<svg xmlns="http://www.w3.org/2000/svg" width="${n(width)}" height="${n(height)}" viewBox="0 0 ${n(width)} ${n(height)}">${rect({ x: 0, y: 0, width, height }, 'fill="#ffffff"')}${parts.join('')}</svg>`;

export const overlaps = (a: Box, b: Box): boolean =>
  a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;

export const inside = (a: Box, b: Box): boolean =>
  a.x >= b.x && a.y >= b.y && a.x + a.width <= b.x + b.width && a.y + a.height <= b.y + b.height;

import { PDFImage, PngEmbedder } from 'pdf-lib';
import { type Block, type BlockLine, type Fitted, shorten } from './fit.ts';
import { black, newPage, type Page, paper } from './page.ts';
import { unknown } from './printable.ts';
import { type Item, readCard, type Section } from './read-card.ts';
import { qrRows } from './return-code.ts';
import { wrap } from './wrap.ts';

export interface JobCard {
  /** The card of `src/core/card.ts`. */
  readonly markdown: string;
  /** The case's sheet as PNG; left out when the words need the room. */
  readonly picture?: Uint8Array;
  /** Capitals and digits, as `returnCode` gives it. */
  readonly code: string;
  readonly community: string;
  /** Milliseconds since 1970. */
  readonly printed: number;
  /** The community's time zone by its IANA name; UTC, and said so, without it. */
  readonly zone?: string;
}

/** Characters of a card that are read; a page holds some 5,000. */
const mostRead = 50_000;
const inner = paper.width - 2 * paper.margin;
const qrSize = 76;
/** Of the words, from comfortable at a table to just legible there. */
const sizes = [11, 10.5, 10, 9.5, 9] as const;
const footSize = 8;
const cutRoom = footSize * 2;
const footTop = paper.height - paper.margin - footSize;

/** Parts of the size of the words. */
const leading = 1.32;
const indent = 1.15;
const heading = 1.1;
const headingRoom = 1.75;
const gap = 0.55;
const padding = 0.7;

/**
 * The job card on one page A4, in black and white, for a table without a screen. What does not fit is left out, and the page says
 * how much. The same input gives the same bytes.
 * Throws a RangeError for a code that is not of 1 to 20 capitals, digits and hyphens, or a `printed` that is no time; and what the
 * library throws for a picture that is no PNG.
 */
export async function jobCardPdf(card: JobCard): Promise<Uint8Array> {
  if (!/^[0-9A-Z-]{1,20}$/.test(card.code))
    throw new RangeError('A code is 1 to 20 capitals, digits and hyphens.');
  const page = await newPage(`Job card ${card.code}`, card.printed);
  const { title, sections } = readCard(card.markdown.slice(0, mostRead), page.clean);
  const short = card.markdown.length > mostRead;
  const top = head(page, card, title);
  const picture = card.picture === undefined ? null : await PngEmbedder.for(card.picture);
  const room = footTop - top - footSize - (short ? cutRoom : 0);
  const chosen = choose(page, sections, picture, room);
  const { blocks, left, of } = chosen.fitted;
  let y = top;
  for (const block of blocks) y = drawBlock(page, block, y, chosen.size);
  if (picture && chosen.width > 0) await drawPicture(page, picture, chosen.width, y);
  const cut = `Cut to one page: ${short ? `more than ${left}` : `${left} of ${of}`} lines are left out. All of it is in the thread.`;
  foot(page, card, left > 0 || short ? cut : '', blocks);
  return page.document.save();
}

/** The title, where it comes from, the code as signs and as squares. Gives where the words begin. */
function head(page: Page, card: JobCard, title: string): number {
  const { margin } = paper;
  const room = inner - qrSize - 24;
  const clip = (words: string, size: number, bold: boolean, most: number) => {
    const lines = wrap([{ words, bold }], room / size - 1, page.measure);
    return lines
      .slice(0, most)
      .map((line, i) => (i + 1 === most && lines.length > most ? [...line, { words: '…', bold }] : line));
  };
  let y: number = margin;
  for (const line of clip(title || 'Job card', 18, true, 2)) {
    y += 18;
    page.write(line, { x: margin, y, size: 18 });
    y += 4;
  }
  const when = time(card.printed, card.zone);
  for (const line of clip(page.clean(card.community), 10, false, 1)) {
    y += 12;
    page.write(line, { x: margin, y, size: 10 });
  }
  y += 14;
  page.write([{ words: `Printed ${when}`, bold: false }], { x: margin, y, size: 10 });
  y += 26;
  const words = 'Back to this case: ';
  page.write([{ words, bold: false }], { x: margin, y, size: 10 });
  page.write([{ words: card.code, bold: true }], {
    x: margin + 10 * page.measure(words, false),
    y,
    size: 20,
  });
  squares(page, qrRows(card.code), { x: paper.width - margin - qrSize, y: margin, width: qrSize });
  const below = Math.max(y + 10, margin + qrSize + 16);
  page.box({ x: margin, y: below, width: inner, height: 1 }, 'filled');
  return below + 8;
}

/** One path: squares that touch then leave no hairline between them. */
function squares({ sheet }: Page, rows: boolean[][], at: { x: number; y: number; width: number }): void {
  const path = rows
    .flatMap((row, r) => row.flatMap((dark, c) => (dark ? [`M${c} ${r}h1v1h-1z`] : [])))
    .join('');
  sheet.drawSvgPath(path, { x: at.x, y: paper.height - at.y, scale: at.width / rows.length, color: black });
}

interface Chosen {
  readonly size: number;
  readonly fitted: Fitted;
  /** Of the picture; 0 leaves it out. */
  readonly width: number;
}

/** Large words and the picture, then smaller words, then no picture, then fewer words. */
function choose(page: Page, sections: readonly Section[], picture: PngEmbedder | null, room: number): Chosen {
  const laid = sizes.map((size) => {
    const blocks = sections.map((section) => blockOf(page, section, size));
    return { size, blocks, height: heightOf(blocks, size) };
  });
  if (picture) {
    for (const { size, blocks, height } of laid) {
      const width = Math.min(inner, 360, ((room - height - 12) * picture.width) / picture.height);
      if (width >= 230) return { size, fitted: { blocks, left: 0, of: 0 }, width };
    }
  }
  const last = laid.find(({ height }) => height <= room) ?? laid.at(-1);
  const { size, blocks } = last as (typeof laid)[number];
  const fitted = shorten(blocks, (some, cut) => heightOf(some, size) <= room - (cut ? cutRoom : 0));
  return { size, fitted, width: 0 };
}

function blockOf(page: Page, { title, items }: Section, size: number): Block {
  const width = inner / size - (title === 'Danger' ? 2 * padding : 0);
  const lines = (item: Item): BlockLine[] =>
    wrap(item.pieces, width - (item.bullet ? indent : 0), page.measure).map((line, i) => ({
      start: item.bullet ? (i === 0 ? 'bullet' : 'below') : 'margin',
      line,
    }));
  return { title, lines: items.flatMap(lines) };
}

const heightOf = (blocks: readonly Block[], size: number): number =>
  blocks.reduce((sum, block) => sum + blockHeight(block), 0) * size;

/** In parts of the size. */
const blockHeight = ({ title, lines }: Block): number =>
  (title === '' ? 0 : headingRoom) + lines.length * leading + gap + (title === 'Danger' ? padding : 0);

function drawBlock(page: Page, block: Block, top: number, size: number): number {
  const { title, lines } = block;
  const { margin } = paper;
  const danger = title === 'Danger';
  const below = top + blockHeight(block) * size;
  const x = margin + (danger ? padding * size : 0);
  let y = top;
  if (title !== '') {
    if (danger) {
      page.box({ x: margin, y: top, width: inner, height: below - top - gap * size }, 'framed');
      page.box({ x: margin, y: top, width: inner, height: headingRoom * size }, 'filled');
    }
    page.write([{ words: title, bold: true }], {
      x,
      y: y + 1.25 * size,
      size: heading * size,
      white: danger,
    });
    y += headingRoom * size;
  }
  if (danger) y += (padding / 3) * size;
  for (const { start, line } of lines) {
    const base = y + size;
    if (start === 'bullet') page.write([{ words: '•', bold: false }], { x: x + 0.2 * size, y: base, size });
    page.write(line, { x: x + (start === 'margin' ? 0 : indent * size), y: base, size });
    y += leading * size;
  }
  return below;
}

/** It becomes part of the document here, so that one that is left out takes no bytes. */
async function drawPicture(page: Page, picture: PngEmbedder, width: number, top: number): Promise<void> {
  const { document, sheet } = page;
  const height = (width * picture.height) / picture.width;
  const image = PDFImage.of(document.context.nextRef(), document, picture);
  sheet.drawImage(image, {
    x: (paper.width - width) / 2,
    y: paper.height - top - 6 - height,
    width,
    height,
  });
  await image.embed();
}

function foot(page: Page, card: JobCard, cut: string, blocks: readonly Block[]): void {
  const { margin } = paper;
  if (cut !== '')
    page.write([{ words: cut, bold: true }], { x: margin, y: footTop - footSize * 1.5, size: footSize + 1 });
  const boxes = blocks.some(({ lines }) =>
    lines.some(({ line }) => line.some((one) => one.words.includes(unknown))),
  );
  const words = `The case may have gone on since ${time(card.printed, card.zone)}.${boxes ? ` ${unknown} stands for a sign that cannot be printed here.` : ''}`;
  page.write([{ words, bold: false }], { x: margin, y: footTop + footSize, size: footSize });
}

/** 2026-05-02 14:05, and the zone when it is nobody's own. */
const time = (at: number, zone: string | undefined): string =>
  `${new Date(at).toLocaleString('sv-SE', { timeZone: zone ?? 'UTC', dateStyle: 'short', timeStyle: 'short' })}${zone === undefined ? ' UTC' : ''}`;

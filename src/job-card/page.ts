import { grayscale, PDFDocument, type PDFPage } from 'pdf-lib';
import { fontFiles } from '../pictures/font.ts';
import { inOrder } from './direction.ts';
import { printable } from './printable.ts';
import type { Piece } from './read-card.ts';
import { shaping } from './shaping.ts';
import type { Line, Measure } from './wrap.ts';

/** A sheet of paper, its typeface and a pen. Points of 1/72 inch; `y` counts from the upper edge down. */
export const paper = { width: 595.28, height: 841.89, margin: 42 } as const;
export const black = grayscale(0);
export const white = grayscale(1);

export interface Page {
  readonly document: PDFDocument;
  readonly sheet: PDFPage;
  /** Words as they can be shown here. */
  readonly clean: (words: string) => string;
  /** At a size of 1. */
  readonly measure: Measure;
  /** `y` is the base line. */
  readonly write: (line: Line, at: { x: number; y: number; size: number; white?: boolean }) => void;
  readonly box: (
    at: { x: number; y: number; width: number; height: number },
    how: 'filled' | 'framed',
  ) => void;
}

/** The same page gives the same bytes: what the library would take from the clock is `at`. */
export async function newPage(title: string, at: number): Promise<Page> {
  const document = await PDFDocument.create({ updateMetadata: false });
  document.registerFontkit(shaping);
  const [regular, bold] = await Promise.all(
    fontFiles.map((file) => document.embedFont(file, { subset: true })),
  );
  if (!regular || !bold) throw new Error('The typeface has two weights.');
  const known = new Set(regular.getCharacterSet());
  const alsoBold = new Set(bold.getCharacterSet());
  // The bold weight has fewer scripts.
  const fontOf = ({ words, bold: heavy }: Piece) =>
    heavy && [...words].every((sign) => alsoBold.has(sign.codePointAt(0) as number)) ? bold : regular;
  const sheet = document.addPage([paper.width, paper.height]);
  const clean = (words: string): string => printable(words, (codePoint) => known.has(codePoint));

  const widths = new Map<string, number>();
  const measure: Measure = (words, heavy) => {
    const key = `${heavy ? 'b' : 'r'}${words}`;
    let width = widths.get(key);
    if (width === undefined) {
      width = inOrder([{ words, bold: heavy }]).reduce(
        (sum, run) => sum + fontOf(run).widthOfTextAtSize(run.words, 1),
        0,
      );
      widths.set(key, width);
    }
    return width;
  };

  document.setTitle(clean(title), { showInWindowTitleBar: true });
  document.setLanguage('en');
  document.setCreator('Mendthread');
  document.setCreationDate(new Date(at));
  document.setModificationDate(new Date(at));
  return {
    document,
    sheet,
    clean,
    measure,
    write(line, { x, y, size, white: onBlack = false }) {
      let left = x;
      for (const run of inOrder(line)) {
        const { words } = run;
        const font = fontOf(run);
        sheet.drawText(words, { x: left, y: paper.height - y, size, font, color: onBlack ? white : black });
        left += font.widthOfTextAtSize(words, size);
      }
    },
    box({ x, y, width, height }, how) {
      const at = { x, y: paper.height - y - height, width, height };
      sheet.drawRectangle(
        how === 'filled' ? { ...at, color: black } : { ...at, borderColor: black, borderWidth: 1.5 },
      );
    },
  };
}

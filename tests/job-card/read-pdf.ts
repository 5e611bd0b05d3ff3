import {
  decodePDFRawStream,
  PDFArray,
  PDFDict,
  PDFDocument,
  PDFName,
  PDFNumber,
  type PDFObject,
  PDFRawStream,
  PDFRef,
} from 'pdf-lib';

/** What a page says and where, read back from its bytes. */
export interface Written {
  readonly words: string;
  readonly x: number;
  /** From the lower edge. */
  readonly y: number;
  readonly size: number;
  readonly width: number;
}

export async function readPdf(bytes: Uint8Array) {
  const document = await PDFDocument.load(bytes, { updateMetadata: false });
  const page = document.getPage(0);
  const resources = page.node.Resources();
  const fonts = resources?.lookup(PDFName.of('Font'), PDFDict);
  const known = new Map(
    (fonts?.keys() ?? []).map((key) => {
      const font = fonts?.lookup(key, PDFDict);
      const described = font?.lookup(PDFName.of('DescendantFonts'), PDFArray).lookup(0, PDFDict);
      return [
        key.toString(),
        {
          signs: alphabet(text(font?.lookup(PDFName.of('ToUnicode')))),
          widths: widths(described?.lookup(PDFName.of('W'), PDFArray)),
        },
      ] as const;
    }),
  );
  const contents = page.node.Contents();
  const streams = contents instanceof PDFArray ? contents.asArray() : [contents];
  const code = streams
    .map((one) => text(one instanceof PDFRef ? document.context.lookup(one) : one))
    .join('\n');
  const written = [
    ...code.matchAll(/(\/\S+) (\S+) Tf\n(?:.*\n)*?1 0 0 1 (\S+) (\S+) Tm\n(?:.*\n)*?<([0-9A-F]*)> Tj/g),
  ].map(([, font = '', size, x, y, hex = '']): Written => {
    const glyphs = hex.match(/.{4}/g) ?? [];
    const { signs, widths } = known.get(font) ?? {};
    return {
      words: glyphs.map((glyph) => signs?.get(glyph) ?? '').join(''),
      x: Number(x),
      y: Number(y),
      size: Number(size),
      width:
        glyphs.reduce((sum, glyph) => sum + (widths?.get(Number.parseInt(glyph, 16)) ?? 0), 0) *
        (Number(size) / 1000),
    };
  });
  const pictures = resources?.lookupMaybe(PDFName.of('XObject'), PDFDict)?.keys().length ?? 0;
  return { document, pages: document.getPageCount(), code, written, pictures, lines: lines(written) };
}

function text(stream: PDFObject | undefined): string {
  if (!(stream instanceof PDFRawStream)) throw new Error('Not a stream.');
  return Buffer.from(decodePDFRawStream(stream).decode()).toString('latin1');
}

const alphabet = (cmap: string): ReadonlyMap<string, string> =>
  new Map(
    [...cmap.matchAll(/^<([0-9A-F]{4})> <([0-9A-F]+)>$/gm)].map(([, glyph = '', utf16 = '']) => [
      glyph,
      Buffer.from(utf16, 'hex').swap16().toString('utf16le'),
    ]),
  );

/** ISO 32000-1, 9.7.4.3: a first glyph, then the widths from there on. */
function widths(given: PDFArray | undefined): ReadonlyMap<number, number> {
  const found = new Map<number, number>();
  for (let i = 0; given && i + 1 < given.size(); i += 2) {
    const first = given.lookup(i, PDFNumber).asNumber();
    const row = given.lookup(i + 1, PDFArray);
    for (let j = 0; j < row.size(); j++) found.set(first + j, row.lookup(j, PDFNumber).asNumber());
  }
  return found;
}

/** What stands at one height, from left to right. */
function lines(written: readonly Written[]): string[] {
  const rows = Map.groupBy(written, ({ y }) => y);
  return [...rows]
    .sort(([a], [b]) => b - a)
    .map(([, row]) =>
      row
        .sort((a, b) => a.x - b.x)
        .map(({ words }) => words)
        .join(''),
    );
}

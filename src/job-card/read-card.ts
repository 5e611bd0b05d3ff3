/** The little Markdown that a job card is made of: a title, sections, lines with bullets, bold words. All else is words. */
export interface Piece {
  readonly words: string;
  readonly bold: boolean;
}

export interface Item {
  readonly bullet: boolean;
  readonly pieces: readonly Piece[];
}

/** What stands before the first section has no title. */
export interface Section {
  readonly title: string;
  readonly items: readonly Item[];
}

/** `clean` is what every run of words goes through. */
export function readCard(
  markdown: string,
  clean: (words: string) => string,
): { readonly title: string; readonly sections: readonly Section[] } {
  let title: string | undefined;
  const sections: { title: string; items: Item[] }[] = [{ title: '', items: [] }];
  for (const line of markdown.split(/\r\n|[\n\r\u0085\u2028\u2029]/)) {
    const [, sharps, words = line] = /^(##?) +(.*)$/.exec(line) ?? [];
    if (sharps === '#' && title === undefined) title = clean(words);
    else if (sharps === '##') sections.push({ title: clean(words), items: [] });
    else if (line.trim() !== '') {
      const bullet = /^[-*] +/.exec(line)?.[0] ?? '';
      const pieces = piecesOf(line.slice(bullet.length), clean);
      if (pieces.length > 0) sections.at(-1)?.items.push({ bullet: bullet !== '', pieces });
    }
  }
  return { title: title ?? '', sections: sections.filter(({ items }) => items.length > 0) };
}

/** Cleaning takes the blanks at the ends; the ones between two pieces are put back. */
function piecesOf(line: string, clean: (words: string) => string): Piece[] {
  return line
    .split(/\*\*(.+?)\*\*/)
    .map((part, i) => {
      const words = clean(part);
      const before = words !== '' && /^\s/.test(part) ? ' ' : '';
      return { words: `${before}${words}${words !== '' && /\s$/.test(part) ? ' ' : ''}`, bold: i % 2 === 1 };
    })
    .filter(({ words }) => words !== '');
}

import { chop, columns, wrap } from './wrap.ts';

/** A job card for the screen: Markdown as it is, with long lines wrapped under their marker and tables kept apart. */

function cells(row: string): string[] {
  const inner = row
    .trim()
    .replace(/^\|/, '')
    .replace(/(?<!\\)\|$/, '');
  return inner.split(/(?<!\\)\|/).map((cell) => cell.trim());
}

function isDelimiter(row: readonly string[]): boolean {
  return row.every((cell) => /^:?-+:?$/.test(cell));
}

/** Widths that fit: the widest column gives way first. */
function narrow(natural: readonly number[], room: number): number[] {
  const widths = [...natural];
  let sum = widths.reduce((total, width) => total + width, 0);
  while (sum > room) {
    const widest = widths.indexOf(Math.max(...widths));
    widths[widest] = (widths[widest] ?? 0) - 1;
    sum -= 1;
  }
  return widths;
}

function pad(text: string, width: number): string {
  return text + ' '.repeat(Math.max(width - columns(text), 0));
}

function wrapTable(lines: readonly string[], width: number): string[] {
  if (lines.every((line) => columns(line) <= width)) return [...lines];
  const rows = lines.map(cells);
  const count = Math.max(...rows.map((row) => row.length));
  const room = width - 3 * count - 1;
  const head = rows[0] ?? [];
  // Too many columns for a table: each row becomes a short list.
  if (room < count * 6)
    return rows
      .slice(1)
      .filter((row) => !isDelimiter(row))
      .flatMap((row) => [
        ...row.flatMap((cell, at) =>
          wrap(`${head[at] ?? ''}: ${cell}`, width, at === 0 ? '- ' : '  ', '    '),
        ),
      ]);
  const body = rows.filter((row) => !isDelimiter(row));
  const natural = Array.from({ length: count }, (_, at) =>
    Math.max(3, ...body.map((row) => columns(row[at] ?? ''))),
  );
  const widths = narrow(natural, room);
  return rows.flatMap((row) => {
    if (isDelimiter(row)) return [`| ${widths.map((wide) => '-'.repeat(wide)).join(' | ')} |`];
    const wrapped = widths.map((wide, at) => wrap(row[at] ?? '', wide));
    const height = Math.max(...wrapped.map((cell) => cell.length));
    return Array.from(
      { length: height },
      (_, line) => `| ${widths.map((wide, at) => pad(wrapped[at]?.[line] ?? '', wide)).join(' | ')} |`,
    );
  });
}

function wrapLine(line: string, width: number): string[] {
  const {
    indent = '',
    marker = '',
    text = '',
  } = /^(?<indent> *)(?<marker>(?:[-*+]|\d{1,3}[.)]|#{1,6}|(?:> ?){1,4}) +|)(?<text>.*)$/s.exec(line)
    ?.groups ?? {};
  const start = indent.slice(0, 8);
  const lead = marker.trimEnd() + (marker === '' ? '' : ' ');
  return wrap(text, width, start + lead, start + (lead.startsWith('>') ? lead : ' '.repeat(lead.length)));
}

/** Cleaned Markdown in lines of at most `width` columns. */
export function wrapMarkdown(markdown: string, width: number): string[] {
  const shown: string[] = [];
  let table: string[] = [];
  let fenced = false;
  for (const line of markdown.trim().split('\n')) {
    const isFence = /^ *(```|~~~)/.test(line);
    if (!fenced && !isFence && /^ *\|/.test(line)) {
      table.push(line.trim());
      continue;
    }
    if (table.length > 0) shown.push(...wrapTable(table, width));
    table = [];
    shown.push(...(fenced || isFence ? chop(line.trimEnd(), width) : wrapLine(line, width)));
    if (isFence) fenced = !fenced;
  }
  return table.length > 0 ? [...shown, ...wrapTable(table, width)] : shown;
}

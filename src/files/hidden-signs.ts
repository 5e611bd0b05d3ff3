import type { Finding, Path } from './finding.ts';

/**
 * Signs that nobody sees and that change what others see: controls, marks that turn the direction of reading, halves
 * of letters. A new line is the one control that text may hold.
 */
const hidden =
  // biome-ignore lint/suspicious/noControlCharactersInRegex: these are what is looked for
  /[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u200e\u200f\u2028-\u202e\u2060\u2066-\u2069\ufeff]|\p{Cs}/u;

/** Hidden signs in the names and texts of a file. */
export function hiddenSigns(data: unknown, path: Path = []): Finding[] {
  if (typeof data === 'string') return hiddenIn(data, path, 'value');
  if (Array.isArray(data)) return data.flatMap((entry, i) => hiddenSigns(entry, [...path, i]));
  if (typeof data !== 'object' || data === null) return [];
  return Object.entries(data).flatMap(([name, value]) => [
    ...hiddenIn(name, [...path, name], 'name'),
    ...hiddenSigns(value, [...path, name]),
  ]);
}

function hiddenIn(text: string, path: Path, on: Finding['on']): Finding[] {
  const sign = hidden.exec(text)?.[0];
  if (sign === undefined) return [];
  const code = (sign.codePointAt(0) ?? 0).toString(16).toUpperCase().padStart(4, '0');
  return [
    {
      path,
      on,
      problem: `a sign that cannot be seen (U+${code}) stands in this ${on === 'name' ? 'name' : 'text'}`,
      instead: 'type the text again',
    },
  ];
}

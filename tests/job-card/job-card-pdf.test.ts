import fc from 'fast-check';
import opentype from 'opentype.js';
import { describe, expect, test } from 'vitest';
import { type JobCard, jobCardPdf } from '../../src/job-card/job-card-pdf.ts';
import { fontFiles } from '../../src/pictures/font.ts';
import { rasterise } from '../../src/pictures/rasterise.ts';
import { svg, text } from '../../src/pictures/svg.ts';
import { following, newTalk, type Talk, type Voice } from '../conversations/thread.ts';
import { people } from '../core/example-flow.ts';
import { readPdf } from './read-pdf.ts';

const given = {
  code: 'K7M3QD',
  community: 'Sallowford Mending Table',
  printed: Date.UTC(2026, 4, 2, 10, 5),
} as const;
const print = async (markdown: string, more: Partial<JobCard> = {}) =>
  readPdf(await jobCardPdf({ ...given, markdown, ...more }));

const words = 'words of somebody who has much to say '.repeat(5);
const items = (count: number): string =>
  Array.from({ length: count }, (_, i) => `- ${i}: ${words}`).join('\n');
const drawing = (height: number) =>
  rasterise(svg(720, height, [text(20, 40, 'A picture', { size: 20 })])).then(({ png }) => png);

/** A4 with the margin that a desk's printer leaves white. */
function expectOnPaper({ pages, written, document }: Awaited<ReturnType<typeof readPdf>>): void {
  expect(pages).toBe(1);
  expect(document.getPage(0).getSize()).toEqual({ width: 595.28, height: 841.89 });
  for (const { x, y, size, width } of written) {
    expect(x).toBeGreaterThanOrEqual(40);
    expect(x + width).toBeLessThanOrEqual(595.28 - 40);
    expect(y).toBeGreaterThanOrEqual(40);
    expect(y + size).toBeLessThanOrEqual(841.89 - 40);
  }
}

function talked(then: (asker: Voice) => void = (asker) => asker.asks('card')): Talk {
  const talk = newTalk({ settings: following('new-speaker') });
  const asker = talk.as(people.asker);
  asker.says('It lights up but is silent');
  for (const answer of ['silent', 'solid', 'young', 'new']) asker.taps(answer);
  then(asker);
  return talk;
}

function cardOf(talk: Talk): string {
  const said = talk.sent.findLast((one) => one.kind === 'say' || one.kind === 'handover');
  return said?.kind === 'say' ? said.words : (said?.card ?? '');
}

describe('a job card on paper', () => {
  test('says all that the card says, the code, the community and the time', async () => {
    const markdown = cardOf(talked());
    const page = await print(markdown);
    expectOnPaper(page);
    const paper = page.lines.join(' ').replace(/\s+/g, ' ');
    for (const line of markdown.split('\n').filter((one) => one !== ''))
      expect(paper).toContain(line.replace(/^(##? |- )/, '').replaceAll('**', ''));
    expect(page.lines).toContain('Back to this case: K7M3QD');
    expect(page.lines).toContain('Sallowford Mending Table');
    expect(page.lines).toContain('Printed 2026-05-02 10:05 UTC');
    expect(paper).not.toContain('left out');
    expect((await print(markdown, { zone: 'Europe/Berlin' })).lines).toContain('Printed 2026-05-02 12:05');
  });

  test('is the same bytes for the same card', async () => {
    const card = {
      ...given,
      markdown: `# Job card: X\n\n## Danger\n\n${items(50)}`,
      picture: await drawing(500),
    };
    const [once, again] = [await jobCardPdf(card), await jobCardPdf(card)];
    expect(Buffer.from(again).equals(Buffer.from(once))).toBe(true);
    const { document } = await readPdf(once);
    expect(document.getCreationDate()?.getTime()).toBe(given.printed);
    expect(document.getModificationDate()?.getTime()).toBe(given.printed);
  });

  test('has the picture when there is room, and gives it up for the words', async () => {
    const picture = await drawing(800);
    expect((await print('# X\n\n- short', { picture })).pictures).toBe(1);
    expect((await print(`# X\n\n${items(40)}`, { picture })).pictures).toBe(0);
    expect((await jobCardPdf({ ...given, markdown: items(40), picture })).length).toBe(
      (await jobCardPdf({ ...given, markdown: items(40) })).length,
    );
  });

  test('takes no code that is not one, and no picture that is none', async () => {
    await expect(print('# X', { code: 'k7m' })).rejects.toThrow(RangeError);
    await expect(print('# X', { code: '' })).rejects.toThrow(RangeError);
    await expect(print('# X', { picture: new Uint8Array([1, 2, 3]) })).rejects.toThrow();
  });
});

describe('a card that is too long for a page', () => {
  const long = ['Danger', 'In the owner’s words', 'What comes next', 'How it stands', 'Said by menders']
    .map((title) => `## ${title}\n\n${items(/words|menders/.test(title) ? 60 : 2)}`)
    .join('\n\n');

  test('keeps danger, the next step and how it stands whole, and counts what is missing of the rest', async () => {
    const page = await print(`# Job card: X\n\n${long}`);
    expectOnPaper(page);
    const [danger = '', owner = '', next = '', stands = '', menders = ''] = page.lines
      .join('\n')
      .split(/^(?:Danger|In the owner’s words|What comes next|How it stands|Said by menders)$/m)
      .slice(1);
    for (const whole of [danger, next, stands]) {
      expect(whole).toMatch(/• ?1: words/);
      expect(whole).not.toContain('more line');
    }
    const counted = [owner, menders].map((cut) => Number(/… and (\d+) more lines/.exec(cut)?.[1]));
    const total = /^Cut to one page: (\d+) of (\d+) lines are left out\. All of it is in the thread\.$/m.exec(
      page.lines.join('\n'),
    );
    expect(Number(total?.[1])).toBe((counted[0] ?? 0) + (counted[1] ?? 0));
    expect(Math.abs((counted[0] ?? 0) - (counted[1] ?? 0))).toBeLessThanOrEqual(1);
  });

  test('keeps the latest of what was seen and measured', async () => {
    const page = await print(`# Job card: X\n\n## Seen, measured and tried\n\n${items(120)}`);
    expectOnPaper(page);
    const words = page.lines.join('\n');
    expect(words).toMatch(/… \d+ more lines before/);
    expect(words).toMatch(/• ?119: words/);
    expect(words).not.toMatch(/• ?1: words/);
  });

  test('gives up what people said before what was seen and measured', async () => {
    const titles = ['In the owner’s words', 'Seen, measured and tried', 'Earlier cases like it'];
    const counts = [40, 12, 12];
    const markdown = titles.map((title, i) => `## ${title}\n\n${items(counts[i] ?? 0)}`).join('\n\n');
    const page = await print(`# Job card: X\n\n${markdown}`);
    expectOnPaper(page);
    const [owner = '', seen = '', earlier = ''] = page.lines
      .join('\n')
      .split(new RegExp(`^(?:${titles.join('|')})$`, 'm'))
      .slice(1);
    expect(seen).toMatch(/• ?11: words/);
    expect(seen).not.toContain('more line');
    for (const cut of [owner, earlier]) expect(cut).toMatch(/… and \d+ more lines/);
  });

  test.each([
    [
      'Danger',
      cardOf(talked((asker) => asker.says('now there is smoke coming out of it'))),
      'Smoke: “smoke”',
    ],
    ['What comes next', cardOf(talked()), 'Fit another speaker'],
    ['How it stands', cardOf(talked()), 'Whoever has it is new to this and works outside only.'],
  ])('says all of "%s" of a real card in which somebody had much to say', async (title, real, words) => {
    const whole = real.split('\n## ').find((part) => part.startsWith(`${title}\n`)) ?? '';
    expect(whole).not.toBe('');
    const paper = (
      await print(real.replace('\n## ', `\n## Said by menders\n\n${items(90)}\n\n## `))
    ).lines.join(' ');
    expect(paper).toContain('Cut to one page');
    expect(paper).toContain(words);
    for (const line of whole.split('\n').filter((one) => one.startsWith('- ')))
      expect(paper).toContain(line.slice(2).replaceAll('**', ''));
  });

  test('leaves a next step out rather than print it without all that can hurt', async () => {
    const page = await print(
      `# Job card: X\n\n## What comes next\n\n${items(60)}\n\n## Danger\n\n- **Smoke**`,
    );
    const paper = page.lines.join('\n');
    expect(paper).toContain('Too long for this page. Read it in the thread before anybody does it.');
    expect(paper).not.toContain('0: words');
    expect(paper).toContain('Smoke');
  });

  test.each([
    ['one word', 'W'.repeat(20_000)],
    ['many words', 'no end '.repeat(2857)],
    ['many lines', '- x\n'.repeat(5000)],
    ['many sections', '## S\n- x\n'.repeat(2222)],
    ['a title', `# ${'Unbelievable '.repeat(1540)}`],
    ['a danger', `## Danger\n${'- **Smoke**: it smokes\n'.repeat(870)}`],
  ])('is one page with 20,000 characters: %s', async (_, markdown) => {
    const page = await print(markdown);
    expectOnPaper(page);
    if (!markdown.startsWith('# '))
      expect(page.lines.join('\n')).toMatch(/Cut to one page: \d+ of \d+ lines/);
    else expect(page.lines.join('\n')).toMatch(/Unbelievable ?…/);
  });

  test('is read to a bound, and says so', async () => {
    const page = await print(`${'word '.repeat(400_000)}`);
    expectOnPaper(page);
    expect(page.lines.join('\n')).toMatch(/Cut to one page: more than \d+ lines are left out/);
  });
});

describe('hostile words', () => {
  test('have no control characters, direction marks or towers of accents on paper', async () => {
    const page = await print('# Job\u0000 card\n\n- a\u202Eb\u2066c\u200F\u0007\u001b[31m d\uD800e\uFEFF');
    expect(page.lines).toContain('Job card');
    expect(page.lines).toContain('•abc [31m d□e'.replace('□', '\uFFFD'));
    const tower = await print(`- x${'\u0323'.repeat(500)}y`);
    expect(tower.lines.join('')).toContain('x\u0323\u0323y');
  });

  test('that the typeface has not are a box each, and the page says what it means', async () => {
    const page = await print('- 日本 👨‍👩‍👧 🇬🇧 हि **太**!');
    expect(page.lines).toContain('•□□ □ □ □ □!');
    expect(page.lines.at(-1)).toContain('□ stands for a sign that cannot be printed here.');
    expect((await print('- Дым Καπνός ծուխ კვამლი Việt ⚡')).lines).toContain(
      '•Дым Καπνός ծուխ კვამლი Việt ⚡',
    );
  });

  const font = opentype.parse(new Uint8Array(fontFiles[0] as Uint8Array).buffer);
  const everything = Object.keys(
    (font.tables.cmap as unknown as { glyphIndexMap: object }).glyphIndexMap,
  ).map((one) => String.fromCodePoint(Number(one)));

  test('are printed whatever the typeface has, sign by sign', async () => {
    for (let i = 0; i < everything.length; i += 400) {
      const page = await print(
        everything
          .slice(i, i + 400)
          .map((sign) => `x ${sign}`)
          .join(' '),
      );
      expectOnPaper(page);
    }
    expect((await print('- ⴰⵣⵓⵍ')).lines).toContain('•ⴰⵣⵓⵍ');
  });

  const pieces = fc.oneof(
    fc.constantFrom(
      '# ',
      '## ',
      '- ',
      '**',
      '\n',
      '\n\n',
      ' ',
      '## Danger\n',
      '\r',
      '\u2028',
      '\u202E',
      '\u200F',
      '\uD83D',
    ),
    fc.string({ unit: 'binary' }),
    fc.string({ unit: 'grapheme' }),
    fc.array(fc.constantFrom(...everything), { maxLength: 40 }).map((signs) => signs.join('')),
    fc.constantFrom(
      `https://sallowford.invalid/${'x'.repeat(300)}`,
      'שלום (12) ',
      'سلام',
      'ⴰⵣⵓⵍ',
      'ߊߓ',
      'क्षि',
      '👩‍🚒',
    ),
  );

  test('of any kind are one page and never a failure', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(pieces, { maxLength: 60 }), async (parts) => {
        expectOnPaper(await print(parts.join(''), { community: parts[0] ?? '' }));
      }),
      { numRuns: 60, seed: 20261127 },
    );
  });
});

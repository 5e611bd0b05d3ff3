import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { Advice } from '../../src/advice.ts';
import { noCache } from '../../src/cache/cache.ts';
import { type CardDesk, cardCommand } from '../../src/job-card/card-command.ts';
import { returnCode } from '../../src/job-card/return-code.ts';
import type { SqlJournal } from '../../src/journal/sql.ts';
import { createDraw } from '../../src/pictures/draw.ts';
import { following, newTalk, type Talk } from '../conversations/thread.ts';
import { people, radio, settings } from '../core/example-flow.ts';
import { type KeptDesk, keptDesk } from '../keeping/kept-desk.ts';
import { readPdf } from './read-pdf.ts';

/** `npm run card`, over a journal in a file. */

let kept: KeptDesk;
let journal: SqlJournal;
let desk: CardDesk;

beforeEach(async () => {
  kept = await keptDesk('sqlite');
  journal = await kept.open();
  const draw = createDraw({ flows: [radio], cache: noCache });
  desk = { ...kept, journal, flows: [radio], settings, draw };
  await keep(
    'slack:C1/17',
    silent((talk) => talk.as(people.asker).asks('person')),
  );
  await keep(
    'terminal/case',
    silent((talk) => talk.as(people.asker).taps('works')),
  );
  await keep(
    'terminal/case-2',
    silent(() => undefined),
  );
});
afterEach(() => kept.drop());

function silent(then: (talk: Talk) => unknown): Talk {
  const talk = newTalk({ settings: following('settings') });
  talk.as(people.asker).says('It lights up but is silent');
  for (const tap of ['silent', 'solid']) talk.as(people.asker).taps(tap);
  then(talk);
  return talk;
}
const keep = (thread: string, { events, kase }: Talk) =>
  journal.append({ thread, inbound: 'all', after: 0, events: [...events], outbound: [], state: kase.state });

const file = (): string => {
  if (kept.journal.kind !== 'sqlite') throw new Error('a file was asked for');
  return join(kept.journal.file, '..', 'card.pdf');
};

describe('a job card by command', () => {
  test('is one page with the code of the case, by its thread', async () => {
    expect(await cardCommand(['slack:C1/17', '--out', file()], desk)).toBe(0);
    const page = await readPdf(await readFile(file()));
    expect(page.pages).toBe(1);
    expect(page.lines).toContain(`Back to this case: ${returnCode('slack:C1/17')}`);
    expect(page.lines.join(' ')).toContain('It lights up but is silent');
    expect(kept.said).toEqual([]);
  });

  test('finds the case again by that code, however it is typed', async () => {
    const code = returnCode('slack:C1/17').toLowerCase();
    expect(await cardCommand([`${code.slice(0, 3)}-${code.slice(3)}`, '--markdown'], desk)).toBe(0);
    await cardCommand(['slack:C1/17', '--markdown'], desk);
    expect(kept.said[0]).toContain('# Job card: Table radio');
    expect(kept.said[0]).toBe(kept.said[1]);
  });

  test('has earlier cases like it where people have the case, and how it ended where it is settled', async () => {
    await cardCommand(['slack:C1/17', '--markdown'], desk);
    expect(kept.said[0]).toMatch(/## Earlier cases like it\n\n- Fixed, /);
    await cardCommand(['terminal/case', '--markdown'], desk);
    expect(kept.said[1]).toContain('## Outcome\n\n- Fixed.');
    expect(kept.said[1]).not.toContain('Earlier cases');
    await cardCommand(['case', '--markdown'], desk);
    expect(kept.said[2]).toBe(kept.said[1]);
  });

  test('says what it wants, and what is not there', async () => {
    expect(await cardCommand([], desk)).toBe(2);
    expect(await cardCommand(['a', 'b'], desk)).toBe(2);
    expect(kept.warned[0]).toContain('npm run card');
    await expect(cardCommand(['slack:nowhere'], desk)).rejects.toThrow(Advice);
    await expect(cardCommand(['ZZZZZZ'], desk)).rejects.toThrow('There is no case “ZZZZZZ”.');
    await expect(cardCommand(['slack:C1/17', '--out', '/nowhere/card.pdf'], desk)).rejects.toThrow(Advice);
  });

  test('asks for the thread where two cases share a code', async () => {
    // Found by trying: the first two of these names with one code.
    const seen = new Map<string, string>();
    let twins: [string, string] | null = null;
    for (let i = 0; twins === null; i++) {
      const thread = `slack:C9/${i}`;
      const other = seen.get(returnCode(thread));
      if (other !== undefined) twins = [other, thread];
      seen.set(returnCode(thread), thread);
    }
    for (const thread of twins)
      await keep(
        thread,
        silent(() => undefined),
      );
    await expect(cardCommand([returnCode(twins[0])], desk)).rejects.toThrow(twins.join(', '));
  });
});

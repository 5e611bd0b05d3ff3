import type { Database } from './database.ts';
import { type Desk, type Over, startDesk } from './desks.ts';
import type { End } from './evidence.ts';
import { type FromDesk, notOpened } from './protocol.ts';

/** The desks that are at work: so many places, and one more desk that is loaded and waits, so that a dead one is replaced at once. */
export interface Shift {
  /** The desk in each place, dead or alive. */
  readonly places: readonly Desk[];
  /** Desks that take in messages. */
  open(): Desk[];
  /** Puts the waiting desk in this place; it opens the journal by itself. */
  begin(place: number): Desk;
  /** The same, until it is open. Throws when it cannot be opened. */
  occupy(place: number): Promise<Desk>;
  /** Waits for a desk's end, and writes it down. */
  end(desk: Desk): Promise<Over>;
  /** Asks a desk to finish; says what was wrong with that, if anything. */
  stop(desk: Desk): Promise<string | null>;
  readonly ends: readonly End[];
  /** The waiting desk is sent home. */
  close(): Promise<void>;
}

export function createShift(options: {
  readonly database: Database;
  readonly claimAge: number;
  readonly ahead: () => number;
  readonly heard: (message: FromDesk, desk: Desk) => void;
}): Shift {
  const { database, claimAge, ahead, heard } = options;
  const { journal, keys } = database;
  const places: Desk[] = [];
  const ends: End[] = [];
  let count = 0;
  const create = (): Desk => startDesk(++count, heard);
  let waiting = create();

  function begin(place: number): Desk {
    const desk = waiting;
    waiting = create();
    places[place] = desk;
    desk.send({ kind: 'open', journal, keys, claimAge, ahead: ahead() });
    return desk;
  }

  async function end(desk: Desk): Promise<Over> {
    const over = await desk.over;
    ends.push({ desk: desk.number, real: Date.now(), inOrder: over.code === 0 });
    return over;
  }

  return {
    places,
    ends,
    open: () => places.filter(({ open }) => open),
    begin,
    end,
    async occupy(place) {
      for (;;) {
        const desk = begin(place);
        if (await desk.opened) return desk;
        const over = await end(desk);
        // A supervisor would start it again, too, while the database is away.
        if (!(over.code === notOpened && database.restart)) throw new Error(byItself(desk, over));
        await sleep(200);
      }
    },
    async stop(desk) {
      desk.stop();
      const inTime = await Promise.race([desk.over, sleep(10_000)]);
      if (!inTime) desk.kill();
      const over = await end(desk);
      return inTime && over.code === 0 ? null : `desk ${desk.number} stopped with ${describe(over)}`;
    },
    async close() {
      waiting.kill();
      await waiting.over;
    },
  };
}

export const byItself = (desk: Desk, over: Over): string =>
  `desk ${desk.number} ended by itself: ${describe(over)}`;

const describe = ({ code, signal, errors }: Over): string =>
  `code ${code}, signal ${signal} ${errors}`.trim();

export const sleep = (ms: number): Promise<undefined> =>
  new Promise((resolve) => setTimeout(resolve, ms, undefined));

import type { Random } from '../../src/rehearsal/random.ts';
import type { Desk } from './desks.ts';
import { notOpened, type Point, points } from './protocol.ts';
import { byItself, type Shift, sleep } from './shift.ts';

/** Ends desks: at each point in turn, at any moment, while they start; and now and then in order. */
export interface Killer {
  readonly kills: Kills;
  /** Desks that were asked to stop in the midst of their work, and did. */
  readonly stops: number;
  /** Whether points were waited for in vain and are still to come. */
  readonly behind: boolean;
  /** Ends one desk and puts another in its place. Throws when one ends by itself. */
  strike(): Promise<void>;
}

export interface Kills {
  all: number;
  readonly at: Record<Point, number>;
  anyMoment: number;
  whileStarting: number;
}

type Way = Point | 'any moment' | 'while starting' | 'in order';
const ways: readonly Way[] = [...points, 'any moment', 'while starting', 'any moment', 'in order'];

/** A desk passes its point up to so many times before it dies: some are passed at every message, others now and then. */
const passes = (point: Point): number =>
  point.startsWith('key') || point.startsWith('claim') ? 3 : point.startsWith('take') ? 6 : 30;
/** How long a desk may take to come to its point, milliseconds. */
const patience = 4000;

export function createKiller(options: {
  readonly shift: Shift;
  readonly draw: Random;
  /** The database may be away. */
  readonly outages: boolean;
  /** Somebody new is wanted, whose key is made. */
  readonly newcomer: () => void;
}): Killer {
  const { shift, draw, outages, newcomer } = options;
  const kills: Kills = {
    all: 0,
    at: Object.fromEntries(points.map((point) => [point, 0])) as Record<Point, number>,
    anyMoment: 0,
    whileStarting: 0,
  };
  let stops = 0;
  let turn = 0;
  /** Points that were waited for in vain come first the next time. */
  const missed: Point[] = [];
  const nextWay = (): Way => missed.shift() ?? (ways[turn++ % ways.length] as Way);

  /** True when it was killed; false when it found no database and gave up before. */
  async function dead(desk: Desk): Promise<{ readonly byPoint: boolean } | null> {
    const over = await shift.end(desk);
    if (over.signal === 'SIGKILL') {
      kills.all += 1;
      return { byPoint: !over.killed };
    }
    if (over.code === notOpened && outages) return null;
    throw new Error(byItself(desk, over));
  }

  async function atPoint(desk: Desk, point: Point): Promise<void> {
    desk.send({ kind: 'die', at: point, pass: 1 + Math.floor(draw.next() * passes(point)) });
    if (point.startsWith('key')) newcomer();
    await Promise.race([sleep(patience), desk.over]);
    desk.kill();
    if ((await dead(desk))?.byPoint) kills.at[point] += 1;
    else {
      kills.anyMoment += 1;
      missed.push(point);
    }
  }

  return {
    kills,
    get stops() {
      return stops;
    },
    get behind() {
      return missed.length > 0;
    },
    async strike() {
      const place = Math.floor(draw.next() * shift.places.length);
      const desk = shift.places[place] as Desk;
      const way = nextWay();
      await Promise.race([sleep(50 + 400 * draw.next()), desk.over]);
      switch (way) {
        case 'in order': {
          // Without its database a desk need not come to an order.
          if (outages) return;
          const wrong = await shift.stop(desk);
          if (wrong !== null) throw new Error(wrong);
          stops += 1;
          break;
        }
        case 'any moment':
          await Promise.race([sleep(300 * draw.next()), desk.over]);
          desk.kill();
          if (await dead(desk)) kills.anyMoment += 1;
          break;
        case 'while starting': {
          desk.kill();
          if (await dead(desk)) kills.anyMoment += 1;
          const young = shift.begin(place);
          await Promise.race([sleep(120 * draw.next()), young.over]);
          young.kill();
          if (await dead(young)) kills.whileStarting += 1;
          break;
        }
        default:
          await atPoint(desk, way);
      }
      await shift.occupy(place);
    },
  };
}

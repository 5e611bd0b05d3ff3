import type { Inbound } from '../../shared/inbound.ts';
import type { Random } from '../../src/rehearsal/random.ts';
import type { Desk } from './desks.ts';
import type { Sent } from './evidence.ts';
import type { FromDesk, ToDesk } from './protocol.ts';

/**
 * Brings the askers' messages to the desks as platforms do: again and again until one is acknowledged, at times late, at
 * times twice, at times once more afterwards.
 */
export interface Mail {
  readonly sent: readonly Sent[];
  readonly unanswered: number;
  send(inbound: Inbound, draw: Random): void;
  /** Sends again what is due. */
  again(): void;
  /** A desk's answer. */
  received(answer: Extract<FromDesk, { kind: 'received' }>): void;
}

interface Letter {
  readonly inbound: Inbound;
  readonly draw: Random;
  readonly answers: ('taken' | 'seen')[];
  /** When it is sent again, by the machine's clock. */
  nextAt: number;
  /** Times that it comes again although it was acknowledged. */
  doubles: number;
  /** Its sender waits for the acknowledgement before saying more. */
  waitedFor: boolean;
}

export function createMail(options: {
  readonly open: () => readonly Desk[];
  /** Its sender may go on. */
  readonly heard: (thread: string) => void;
}): Mail {
  const { open, heard } = options;
  const sent: Letter[] = [];
  const byId = new Map<string, Letter>();
  const under = new Set<Letter>();

  function bring(letter: Letter): void {
    const { draw, inbound } = letter;
    const desks = open();
    const any = (): Desk | undefined => desks[Math.floor(draw.next() * desks.length)];
    letter.nextAt = Date.now() + 150 + 350 * draw.next();
    const message: ToDesk = { kind: 'inbound', inbound };
    any()?.send(message);
    // The same again at the same moment, to another desk where there is one.
    if (draw.next() < 0.1) any()?.send(message);
  }

  return {
    sent,
    get unanswered() {
      return sent.filter(({ answers }) => answers.length === 0).length;
    },
    send(inbound, draw) {
      const late = draw.next() < 0.1 ? 400 * draw.next() : 0;
      const doubles = draw.next() < 0.1 ? 1 : 0;
      const letter = {
        inbound,
        draw,
        answers: [],
        nextAt: Date.now() + late,
        doubles,
        waitedFor: late === 0,
      };
      sent.push(letter);
      byId.set(inbound.id, letter);
      under.add(letter);
      if (late === 0) bring(letter);
      // What comes late is overtaken.
      else heard(inbound.thread);
    },
    again() {
      for (const letter of under) {
        if (Date.now() < letter.nextAt) continue;
        if (letter.answers.length > 0) {
          if (letter.doubles === 0) {
            under.delete(letter);
            continue;
          }
          letter.doubles -= 1;
        }
        bring(letter);
      }
    },
    received({ id, thread, result }) {
      const letter = byId.get(id);
      if (!letter || result === 'busy' || result === 'failed') return;
      letter.answers.push(result);
      if (letter.answers.length > 1) return;
      letter.nextAt = Date.now() + 2000 * letter.draw.next();
      if (letter.waitedFor) heard(thread);
    },
  };
}

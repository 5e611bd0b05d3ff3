import type { Adapter, Delivery, Receive } from '../../shared/adapter.ts';
import type { Ask, Outbound } from '../../shared/outbound.ts';
import type { Person } from '../../shared/person.ts';
import { type Face, humanFace, JSON_FACE } from './face.ts';
import {
  addressed,
  type Envelope,
  type Form,
  type Heard,
  LONGEST_WORDS,
  type Unaddressed,
} from './inbound.ts';
import { LineReader } from './lines.ts';

export interface TerminalOptions {
  readonly input: NodeJS.ReadableStream;
  readonly output: NodeJS.WritableStream;
  /** `level` is vouched for by whoever runs the program. */
  readonly person: Person;
  readonly thread: string;
  /** Line mode for programs. */
  readonly json: boolean;
  readonly colour: boolean;
  /** Columns of the screen; at most 80 are used. */
  readonly width: number;
  /** Every wait is skipped at once, on a demonstration clock. */
  readonly skipWaits: boolean;
  /** The desk's clock in ms. */
  now(): number;
  /** Moves the demonstration clock, or not at all by 0; what fell due then arrives through `deliver`. */
  advance(minutes: number): Promise<void>;
  /** True once the clock was moved. */
  moved(): boolean;
  /** Words given on the command line: they open the case. */
  readonly firstWords?: string;
  /** There is a case to go on with; it is shown first. */
  readonly resumes?: boolean;
  /** What is said here is still known next time. */
  readonly keeps?: boolean;
  newId(): string;
  /** Resolves when nothing is left to deliver. Absent: `receive` and `advance` resolve only then. */
  drained?(): Promise<void>;
}

// Waits skipped in a row without a word from the person: a desk that only ever reminds would never stop.
const MOST_SKIPS = 20;
// A JSON text may spend six characters on one ("\u0000").
const LONGEST_LINE = 6 * LONGEST_WORDS + 100;

const NOT_TAKEN_IN = 'Something went wrong on our side, and this was not taken in. Please send it again.';
const NOT_MOVED =
  'Something went wrong on our side while the clock was moved. Please look at the last message.';
const ENOUGH = 'The clock was moved many times in a row. It now waits for a word from you.';

function nextTurn(): Promise<void> {
  return new Promise((resolve) => {
    setImmediate(resolve);
  });
}

/** A terminal as a platform: one person, one case. `ended` resolves when the case or the input came to its end. */
export function createTerminal(options: TerminalOptions): Adapter & { readonly ended: Promise<void> } {
  return new Terminal(options);
}

class Terminal implements Adapter {
  /** One terminal serves one case, and no other case's messages reach it. */
  readonly name: string;
  readonly abilities = { buttons: 100, length: 20_000, pictures: false, forms: false };
  readonly ended: Promise<void>;

  readonly #options: TerminalOptions;
  readonly #face: Face;
  readonly #finish: () => void;
  readonly #fail: (reason: unknown) => void;
  readonly #asks = new Map<string, Ask>();
  readonly #delivered = new Map<string, Promise<string>>();
  readonly #printing = new Set<Promise<string>>();
  /** Times (ms) at which the desk means to come back, by the key of the timer. */
  readonly #waits = new Map<string, number>();
  #ask: Ask | null = null;
  #form: Form | null = null;
  #opened = false;
  /** How the case ended, as far as this terminal is concerned. */
  #over: 'over' | 'people' | null = null;
  #leaving = false;
  /** Nobody reads the output any more. */
  #closed = false;
  /** Ends the waiting for what is not written yet. */
  readonly #unwritten = new Set<() => void>();
  #wake = Promise.withResolvers<void>();
  #running: Promise<void> | null = null;

  constructor(options: TerminalOptions) {
    this.#options = options;
    this.name = options.thread;
    const end = Promise.withResolvers<void>();
    this.ended = end.promise;
    this.#finish = end.resolve;
    this.#fail = end.reject;
    const echo = !(options.input as { isTTY?: boolean }).isTTY;
    const width = Math.max(24, Math.min(80, Math.floor(options.width) || 80));
    const page = () => ({ width, colour: options.colour, person: options.person.id, now: options.now() });
    this.#face = options.json ? JSON_FACE : humanFace(page, echo, options.keeps === true);
  }

  async start(receive: Receive): Promise<void> {
    const { input, output } = this.#options;
    output.on('error', (error: NodeJS.ErrnoException) => this.#close(error));
    output.on('close', () => this.#close());
    const reader = new LineReader(input, LONGEST_LINE);
    this.#running = this.#run(reader, receive).finally(() => reader.stop());
    this.#running.then(this.#finish, this.#fail);
  }

  deliver({ id, outbound }: Delivery): Promise<string> {
    const before = this.#delivered.get(id);
    if (before) return before;
    const reference = String(this.#delivered.size + 1);
    const printed = this.#print(this.#show(outbound)).then(() => reference);
    this.#delivered.set(id, printed);
    this.#printing.add(printed);
    printed.finally(() => this.#printing.delete(printed));
    this.#ring();
    return printed;
  }

  async stop(): Promise<void> {
    this.#leaving = true;
    this.#ring();
    if (this.#running) await this.#running.catch(() => undefined);
    else this.#finish();
  }

  async #run(reader: LineReader, receive: Receive): Promise<void> {
    const { firstWords, resumes } = this.#options;
    let line: Promise<string | null> | null = null;
    await nextTurn();
    if (resumes) await this.#resume(receive);
    if (firstWords?.trim()) await this.#turn(firstWords, receive);
    else if (!resumes) await this.#print(this.#face.greeting());
    while (!this.#isDone()) {
      const woken = this.#wake.promise.then(() => 'woken' as const);
      line ??= reader.next();
      await this.#print(this.#face.prompt());
      const came = await Promise.race([line.then((text) => ({ text })), woken]);
      if (came === 'woken') {
        this.#wake = Promise.withResolvers<void>();
        await this.#settleDown();
        continue;
      }
      line = null;
      if (came.text === null) break;
      await this.#print(this.#face.taken(came.text));
      await this.#turn(came.text, receive);
    }
    await this.#print(this.#face.farewell(this.#over ?? (this.#opened ? 'open' : 'unopened')));
  }

  async #resume(receive: Receive): Promise<void> {
    await this.#print(this.#face.welcomeBack());
    // A wait may be over by now.
    await this.#advance(0);
    await this.#settleDown();
    this.#opened = true;
    if (this.#ask) return;
    await this.#send({ kind: 'asked', what: 'again' }, receive);
    await this.#settleDown();
  }

  #isDone(): boolean {
    return this.#over !== null || this.#leaving || this.#closed;
  }

  /** One line from being read to everything that follows from it being printed. */
  async #turn(line: string, receive: Receive): Promise<void> {
    const heard = this.#face.hear(line, {
      opened: this.#opened,
      ask: this.#ask,
      asks: this.#asks,
      form: this.#form,
    });
    const before = this.#ask;
    await this.#act(heard, receive);
    await this.#settleDown();
    // A person who stops at a terminal wants to leave it, once nothing is asked any more.
    const stopped =
      heard.kind === 'message' && heard.message.kind === 'asked' && heard.message.what === 'stop';
    if (stopped && !this.#options.json && this.#ask === before) this.#leaving = true;
  }

  async #act(heard: Heard, receive: Receive): Promise<void> {
    switch (heard.kind) {
      case 'nothing':
        return;
      case 'leave':
        this.#leaving = true;
        return;
      case 'repeat':
        if (this.#ask) await this.#print(this.#face.outbound(this.#ask));
        return;
      case 'problem':
        return this.#print(this.#face.problem(heard.sentence));
      case 'advance':
        return this.#advance(heard.minutes);
      case 'message':
        return this.#send(heard.message, receive);
      default:
        return heard satisfies never;
    }
  }

  async #send(message: Unaddressed, receive: Receive): Promise<void> {
    const options = this.#options;
    const envelope: Envelope = {
      id: options.newId(),
      thread: options.thread,
      at: options.now(),
      by: options.person,
      ...(options.moved() ? { demonstration: true as const } : {}),
    };
    this.#form = null;
    try {
      if ((await receive(addressed(message, envelope))) !== 'busy') this.#opened = true;
    } catch {
      await this.#print(this.#face.problem(NOT_TAKEN_IN));
    }
  }

  async #advance(minutes: number): Promise<void> {
    try {
      await this.#options.advance(minutes);
    } catch {
      await this.#print(this.#face.problem(NOT_MOVED));
    }
  }

  /** Waits until all is printed; then, in a demonstration, goes on to the next thing that the desk waits for. */
  async #settleDown(): Promise<void> {
    const options = this.#options;
    for (let skips = 0; ; skips += 1) {
      await this.#quiet();
      if (!options.skipWaits || this.#isDone()) return;
      for (const [key, due] of this.#waits) if (due <= options.now()) this.#waits.delete(key);
      if (this.#waits.size === 0) return;
      if (skips === MOST_SKIPS) {
        this.#waits.clear();
        return this.#print(this.#face.problem(ENOUGH));
      }
      const due = Math.min(...this.#waits.values());
      for (const [key, other] of this.#waits) if (other === due) this.#waits.delete(key);
      await this.#print(this.#face.skipping(due, options.now()));
      await this.#advance(Math.max(1, Math.ceil((due - options.now()) / 60_000)));
    }
  }

  async #quiet(): Promise<void> {
    await this.#options.drained?.();
    // Messages of one turn that are handed over one right after the other.
    await nextTurn();
    await Promise.all(this.#printing);
  }

  #show(outbound: Outbound): string {
    switch (outbound.kind) {
      case 'ask':
        this.#ask = outbound;
        this.#asks.set(outbound.key, outbound);
        this.#form = null;
        this.#over = null;
        break;
      case 'form':
        if (outbound.to === this.#options.person.id) this.#form = outbound;
        break;
      case 'amend':
        // Answered: its numbers mean nothing any more.
        if (this.#ask?.key === outbound.key) this.#ask = null;
        break;
      case 'remind':
        // After the end nobody waits at this terminal any more.
        if (this.#over !== null && !this.#options.json) return '';
        if (outbound.later !== true) this.#waits.set(outbound.key, outbound.due);
        break;
      case 'unremind':
        this.#waits.delete(outbound.key);
        break;
      case 'handover':
        this.#over = 'people';
        break;
      case 'settle':
        this.#over = 'over';
        break;
      default:
    }
    return this.#face.outbound(outbound);
  }

  #ring(): void {
    this.#wake.resolve();
  }

  #close(error?: NodeJS.ErrnoException): void {
    this.#closed = true;
    for (const resolve of this.#unwritten) resolve();
    this.#ring();
    // Whoever read from us went away: that is no error of ours. A full disk is one.
    if (error && error.code !== 'EPIPE' && !error.code?.startsWith('ERR_STREAM')) this.#fail(error);
  }

  async #print(text: string): Promise<void> {
    if (text === '' || this.#closed) return;
    const { promise, resolve } = Promise.withResolvers<void>();
    this.#unwritten.add(resolve);
    this.#options.output.write(text, () => resolve());
    await promise;
    this.#unwritten.delete(resolve);
  }
}

import { type ChildProcess, fork } from 'node:child_process';
import { join } from 'node:path';
import type { FromDesk, ToDesk } from './protocol.ts';

/** A desk's process, from outside. */
export interface Desk {
  readonly number: number;
  /** It takes in messages. */
  readonly open: boolean;
  /** Resolves with true once it is open, with false when it died before. */
  readonly opened: Promise<boolean>;
  /** Resolves when it is dead and everything that it said was heard. */
  readonly over: Promise<Over>;
  send(message: ToDesk): void;
  kill(): void;
  /** Asks it to finish. */
  stop(): void;
}

export interface Over {
  readonly code: number | null;
  readonly signal: NodeJS.Signals | null;
  /** Whether `kill` was called; if not, and it died of SIGKILL, it met its point. */
  readonly killed: boolean;
  /** What it wrote on its way out. */
  readonly errors: string;
}

/** Starts a process that has loaded the program and waits for a message to open its journal. */
export function startDesk(number: number, heard: (message: FromDesk, desk: Desk) => void): Desk {
  const child: ChildProcess = fork(join(import.meta.dirname, 'desk.ts'), {
    execArgv: [],
    stdio: ['ignore', 'ignore', 'pipe', 'ipc'],
    env: { ...process.env, NODE_OPTIONS: '' },
  });
  let killed = false;
  let errors = '';
  let open = false;
  const opened = Promise.withResolvers<boolean>();
  child.stderr?.on('data', (data) => {
    errors = `${errors}${data}`.slice(-4000);
  });
  const exited = new Promise<{ code: number | null; signal: NodeJS.Signals | null }>((resolve) =>
    child.on('exit', (code, signal) => resolve({ code, signal })),
  );
  const quiet = new Promise<void>((resolve) => child.on('disconnect', resolve));
  const over = Promise.all([exited, quiet]).then(([{ code, signal }]) => {
    open = false;
    opened.resolve(false);
    return { code, signal, killed, errors };
  });
  // What cannot be sent was sent to somebody dead.
  child.on('error', () => undefined);
  const desk: Desk = {
    number,
    get open() {
      return open && child.connected;
    },
    opened: opened.promise,
    over,
    send(message) {
      if (child.connected) child.send(message, () => undefined);
    },
    kill() {
      killed = child.kill('SIGKILL') || killed;
    },
    stop() {
      child.kill('SIGTERM');
    },
  };
  child.on('message', (message) => {
    const said = message as FromDesk;
    if (said.kind === 'opened') {
      open = true;
      opened.resolve(true);
    }
    heard(said, desk);
  });
  return desk;
}

import {
  type DestinationStream,
  destination as fileDestination,
  type Logger,
  pino,
  stdTimeFunctions,
} from 'pino';
import type { Notify } from '../notice.ts';
import type { LogLevel } from './environment.ts';
import { describeCause, redact } from './redact.ts';

/** What the desk notices, as JSON lines for whoever runs it. Never what people wrote, their names, or secrets. */
export type Log = Logger;

export interface LogOptions {
  readonly level: LogLevel;
  /** Standard error by default: standard output belongs to a conversation. */
  readonly destination?: DestinationStream;
}

/** What is logged under these names is not written, here and two levels further down. */
const censored = [
  'token',
  'secret',
  'password',
  'authorization',
  'cookie',
  'key',
  'url',
  'name',
  'words',
  'text',
  'title',
  'question',
  'label',
];

export function createLog({ level, destination = standardError() }: LogOptions): Log {
  return pino(
    {
      level,
      timestamp: stdTimeFunctions.isoTime,
      formatters: { level: (label) => ({ level: label }) },
      errorKey: 'cause',
      serializers: {
        msg: (words: unknown) => (typeof words === 'string' ? redact(words) : words),
        cause: (cause: unknown) => describeCause(cause),
        err: (cause: unknown) => describeCause(cause),
        error: (cause: unknown) => describeCause(cause),
      },
      redact: { paths: ['', '*.', '*.*.'].flatMap((at) => censored.map((name) => at + name)), censor: '…' },
    },
    destination,
  );
}

function standardError(): DestinationStream {
  // At once, so that nothing is lost at the end. A log that cannot be written (its disk is full) is no reason to stop.
  const stream = fileDestination({ dest: 2, sync: true });
  stream.on('error', () => undefined);
  return stream;
}

/** Lengths of time are in milliseconds. */
export function logNotice(log: Log): Notify {
  return (notice) => {
    switch (notice.kind) {
      case 'turn': {
        const { kind, thread, inbound, result, took } = notice;
        const fields = { notice: kind, thread, inbound, result, took };
        // Somebody was refused: whoever runs the desk should hear of it.
        if (result === 'busy') log.warn(fields, 'a message was refused: too many are waiting');
        else log.debug(fields, result === 'seen' ? 'a message had come before' : 'a turn was taken');
        return;
      }
      case 'turn-failed':
        log.error({ notice: notice.kind, thread: notice.thread, cause: notice.cause }, 'a turn failed');
        return;
      case 'plan':
        log.debug({ notice: notice.kind, from: notice.from, took: notice.took }, 'a plan was needed');
        return;
      case 'timer':
        log.debug({ notice: notice.kind, thread: notice.thread, late: notice.late }, 'a timer rang');
        return;
      case 'delivered': {
        const { kind, thread, outbound, waited } = notice;
        log.debug({ notice: kind, thread, outbound, waited }, 'a message was delivered');
        return;
      }
      case 'delivery-failed': {
        const { kind, thread, message, tries, again, cause } = notice;
        log.warn(
          { notice: kind, thread, message, tries, again, cause },
          'a message could not be delivered yet',
        );
        return;
      }
      case 'set-aside': {
        const { kind, thread, message, outbound, cause } = notice;
        log.error(
          { notice: kind, thread, message, outbound, cause },
          'a message was set aside: it will not be delivered',
        );
        return;
      }
      case 'cache': {
        const fields = { notice: notice.kind, of: notice.of, result: notice.result };
        if (notice.result === 'bad') log.warn(fields, 'the cache gave back what was not put there');
        else log.debug(fields, 'the cache was asked');
        return;
      }
      case 'cache-breaker':
        if (notice.open) log.warn({ notice: notice.kind, open: true }, 'the cache is not asked for a while');
        else log.info({ notice: notice.kind, open: false }, 'the cache is asked again');
        return;
      case 'problem':
        log.error(
          { notice: notice.kind, ...(notice.cause === undefined ? {} : { cause: notice.cause }) },
          notice.what,
        );
        return;
      default:
        notice satisfies never;
    }
  };
}

import { counted, type Desk, dated } from './desk.ts';
import { fileArgument } from './file-argument.ts';
import { type RestoredCases, restoreCases } from './restore-cases.ts';
import { type RestoredKeys, restoreKeys } from './restore-keys.ts';
import type { Unreadable } from './unreadable.ts';

/** Restoring backups of cases and of keys, in either order. See `README.md` beside this file. */

const usage = `restore FILE          cases, into an empty journal
restore --keys FILE   people's keys, beside those that are there`;

/** Resolves to the exit code. Throws `Advice`. */
export async function restoreCommand(args: readonly string[], desk: Desk): Promise<number> {
  const given = fileArgument(args);
  if (!given) {
    desk.err(usage);
    return 2;
  }
  const lines = given.keys
    ? keysWords(given.file, await restoreKeys(given.file, desk))
    : casesWords(given.file, await restoreCases(given.file, desk));
  for (const line of lines) desk.out(line);
  return 0;
}

function casesWords(
  file: string,
  { made, rows, held, lostAgain, stopped, unreadable }: RestoredCases,
): string[] {
  const { cases = 0, events = 0, timers = 0 } = rows;
  return [
    `Restored from ${file}, made on ${dated(made)}: ${counted(cases, 'case')}, ${counted(events, 'event')}, ${counted(timers, 'timer')}.`,
    ...(lostAgain > 0
      ? [
          `${counted(lostAgain, 'key')} of people who were erased after it was made: lost again, as the journal says.`,
        ]
      : []),
    ...(held > 0
      ? [
          `${counted(held, 'message')} on the way out can be read with the keys only: set aside until they are restored.`,
        ]
      : []),
    ...unreadableWords(unreadable),
    ...(stopped > 0
      ? [
          `${counted(stopped, 'case was', 'cases were')} under way and stopped here: nobody knows what was done to those appliances since. Their people are told to pull the plug and write again; what waited for a time does not come back by itself.`,
        ]
      : []),
    'What happened after it was made is not in it. Erasures that were made since have to be made again: erase person ID.',
  ];
}

function keysWords(
  file: string,
  { made, added, same, other, erased, freed, unreadable }: RestoredKeys,
): string[] {
  return [
    `Restored from ${file}, made on ${dated(made)}: ${counted(added, 'key')}. ${same} were here already.`,
    ...(other > 0
      ? [
          `${counted(other, 'person has', 'persons have')} another key here, which was left alone: what they said before it was made stays unreadable.`,
        ]
      : []),
    ...(erased > 0
      ? [`${counted(erased, 'key')} of people who were erased after it was made: not restored.`]
      : []),
    ...(freed > 0 ? [`${counted(freed, 'message')} can be read again and will go out.`] : []),
    ...unreadableWords(unreadable),
    'Whoever was erased after this file was made, and is not known to the journal as erased, has to be erased again: erase person ID.',
  ];
}

const unreadableWords = ({ cases, keys }: Unreadable): string[] =>
  cases === 0
    ? ['Every word in the journal can be read.']
    : [
        `${counted(keys, 'key is', 'keys are')} missing: in ${counted(cases, 'case')} words cannot be read and are left empty. Whoever was erased is among them. If there should be more, restore the keys: restore --keys FILE.`,
      ];

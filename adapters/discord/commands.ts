import type { Control } from '../../shared/inbound.ts';

/**
 * The commands as Discord keeps them: for the server, where they are there at once, and for direct messages with the bot. A
 * type 1 option is a sub-command, 3 text, 5 yes or no.
 */

const sub = (name: string, description: string, options: readonly object[] = []) => ({
  type: 1,
  name,
  description,
  options,
});

export const messageCommand = 'Help with this';

export const controls = [
  'where',
  'why',
  'undo',
  'person',
  'card',
  'stop',
  'again',
] as const satisfies readonly Control[];

export const commands = [
  {
    type: 1,
    name: 'mend',
    description: 'Find out, step by step, what is wrong with an appliance',
    options: [
      sub('start', 'Begin with an appliance that does not work', [
        {
          type: 3,
          name: 'about',
          description: 'Which appliance, and what you see, hear or smell',
          max_length: 2000,
        },
      ]),
      sub('where', 'Where are we?'),
      sub('why', 'Why is this asked?'),
      sub('undo', 'Take the last answer back'),
      sub('person', 'Ask a person'),
      sub('card', 'The job card of this case'),
      sub('stop', 'Stop here; you can go on any time'),
      sub('again', 'Take up again what was stopped or settled'),
      sub('mine', 'My cases'),
      sub('forget', 'Erase what is mine'),
    ],
  },
  {
    type: 1,
    name: 'bench',
    description: 'For menders: cases that wait for people',
    options: [
      sub('list', 'What waits, most dangerous and longest waiting first'),
      sub('numbers', 'For moderators: what settled cases say of the numbers', [
        { type: 3, name: 'flow', description: 'Of which appliance, such as kettle', max_length: 60 },
      ]),
      sub('card', 'The job card of this case'),
      sub('print', 'The job card as a page to print'),
      sub('similar', 'Earlier cases like this one'),
      sub('take', 'Take this case on', [
        { type: 5, name: 'here', description: 'The appliance is in front of me' },
      ]),
      sub('advise', 'Say something into the thread'),
      sub('result', 'Add the result of a check'),
      sub('correct', 'Correct an answer'),
      sub('clear', 'Clear one tier for whoever has it'),
      sub('unflag', 'Say that a sign of danger was looked into'),
      sub('safety', 'Say what the electrical test showed'),
      sub('back', 'Give the case back to the bot'),
      sub('settle', 'Settle the case'),
    ],
  },
  { type: 3, name: messageCommand },
] as const;

/** In direct messages there is nobody else's case; 1 is a direct message with the bot. */
export const directCommands = commands
  .filter(({ name }) => name === 'mend')
  .map((command) => ({ ...command, contexts: [1], integration_types: [0] }));

/** Whether what is there is what should be: then nothing is written. */
export function sameCommands(there: unknown, wanted: readonly object[]): boolean {
  return Array.isArray(there) && shape(there) === shape(wanted);
}

/** Only what we say of a command, in one order; the platform adds much of its own. */
function shape(list: readonly unknown[]): string {
  const plain = (one: unknown): unknown => {
    const { type, name, description, options, max_length } = one as Record<string, unknown>;
    return {
      type: type ?? 1,
      name,
      description: description ?? '',
      max_length: max_length ?? null,
      options: Array.isArray(options) ? options.map(plain) : [],
    };
  };
  return JSON.stringify(
    list.map(plain).sort((a, b) => ((a as { name: string }).name < (b as { name: string }).name ? -1 : 1)),
  );
}

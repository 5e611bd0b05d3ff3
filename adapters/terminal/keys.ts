import type { Control } from '../../shared/inbound.ts';
import type { Ask } from '../../shared/outbound.ts';

/** What is typed for a control: its key (no single letter of these names a choice), its label, or a word. */
interface ControlKey {
  readonly key: string;
  readonly label: string;
  readonly words: readonly string[];
}

const CONTROLS: Readonly<Record<Control, ControlKey>> = {
  unsure: { key: 'u', label: 'not sure', words: ['unsure'] },
  cannot: { key: 'x', label: "can't do this", words: ['cannot', "can't", 'cant', 'cannot do this'] },
  why: { key: 'w', label: 'why?', words: ['why this'] },
  where: { key: 's', label: 'where are we?', words: ['where'] },
  undo: { key: 'z', label: 'undo', words: [] },
  person: { key: 'p', label: 'ask a person', words: ['person'] },
  stop: { key: 'q', label: 'stop', words: ['quit', 'exit'] },
  card: { key: 'j', label: 'job card', words: ['card'] },
  again: { key: 'r', label: 'take it up again', words: ['again'] },
  mine: { key: 'm', label: 'my cases', words: ['mine'] },
  // Nothing comes back after it, so no single letter does it.
  forget: { key: 'forget', label: '(delete this case)', words: [] },
};

const NAMES = Object.keys(CONTROLS) as Control[];

function plain(line: string): string {
  return line
    .toLowerCase()
    .replaceAll('’', "'")
    .replace(/(?<=.)[?!.]+$/, '')
    .trim();
}

const TYPED: ReadonlyMap<string, Control> = new Map(
  NAMES.flatMap((name) => {
    const { key, label, words } = CONTROLS[name];
    return [key, label, `${key} ${label}`, ...words].map((typed) => [plain(typed), name] as const);
  }),
);

/** The control of this very name, if it is one. */
export function controlNamed(name: string): Control | null {
  return NAMES.find((control) => control === name) ?? null;
}

/** The control that a typed letter or word means, if any. */
export function controlTyped(line: string): Control | null {
  return line.length > 40 ? null : (TYPED.get(plain(line)) ?? null);
}

/** A control as it stands on the screen: "u not sure". */
export function controlShown(control: Control): string {
  const { key, label } = CONTROLS[control];
  return `${key} ${label}`;
}

// The letters that no control has.
const LETTERS = 'abcdefghiklnotvy';

/** What is typed for the choice at `index` from 0: a number, or a letter where numbers are readings. */
export function choiceKey(ask: Pick<Ask, 'reading'>, index: number): string {
  if (!ask.reading) return String(index + 1);
  const round = Math.floor(index / LETTERS.length);
  return `${LETTERS[index % LETTERS.length]}${round === 0 ? '' : round + 1}`;
}

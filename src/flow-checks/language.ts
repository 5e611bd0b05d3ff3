import type { Flow } from '../../shared/flow.ts';
import { type Finding, type Path, quote } from '../files/finding.ts';

/** Advice on words: sentences that are too long for somebody who learnt the language late, and the trade's words without a gloss. */

/** Words in a sentence. Plain-language guides ask for 20 to 25 at most (from memory). */
const longest = 25;

/** Words that repairers use among themselves. Chosen by hand. */
const trade = (
  'armature,bearing,bleeder,bushing,busbar,capacitor,chuck,clutch,collet,commutator,continuity,creepage,' +
  'crimp,cut-out,desolder,diode,driver,earth,element,ferrule,firmware,flex,gasket,gearbox,grommet,heat sink,impeller,inductor,' +
  'insulation,interlock,led driver,manifold,mosfet,multimeter,polarity,potentiometer,relay,rectifier,resistor,ribbon,' +
  'rotor,sleeve,solenoid,solenoid valve,spade connector,spline,stator,strain relief,terminal block,thermal cut-out,thermal fuse,thermistor,' +
  'thermoblock,thermostat,timing board,transformer,triac,trimmer,tuner,varistor,winding'
).split(',');

/** The word or its plural, and no part of another. */
const patterns = trade.map((word) => ({
  word,
  pattern: new RegExp(`(?<![\\p{L}-])${word}s?(?![\\p{L}-])`, 'u'),
}));

export function languageAdvice(flow: Flow): Finding[] {
  const all = texts(flow);
  return [...longSentences(all), ...tornLines(flow), ...unexplained(flow, all)];
}

interface Text {
  readonly path: Path;
  readonly words: string;
  /** Put to the owner as a question or an instruction; other texts explain themselves. */
  readonly asked: boolean;
}

function texts(flow: Flow): Text[] {
  const all: Text[] = [];
  const add = (path: Path, words: string | undefined, asked = false): void => {
    if (words !== undefined) all.push({ path, words, asked });
  };
  const lines = (path: Path, how: readonly string[] | undefined): void =>
    (how ?? []).forEach((words, i) => {
      add([...path, i], words, true);
    });
  flow.complaints.forEach(({ label }, i) => {
    add(['complaints', i, 'label'], label, true);
  });
  flow.details.forEach((detail, i) => {
    add(['details', i, 'ask'], detail.ask, true);
    add(['details', i, 'why'], detail.why);
    lines(['details', i, 'how'], detail.how);
    detail.choices.forEach((choice, j) => {
      add(['details', i, 'choices', j, 'label'], choice.label, true);
      add(['details', i, 'choices', j, 'say'], choice.say);
      add(['details', i, 'choices', j, 'stop'], choice.stop);
    });
  });
  flow.faults.forEach((fault, i) => {
    add(['faults', i, 'plain'], fault.plain);
    add(['faults', i, 'mends'], fault.mends);
  });
  flow.access.forEach((stage, i) => {
    lines(['access', i, 'open', 'how'], stage.open.how);
    lines(['access', i, 'close', 'how'], stage.close.how);
    stage.hazards.forEach(({ text }, j) => {
      add(['access', i, 'hazards', j, 'text'], text);
    });
  });
  for (const list of ['checks', 'remedies'] as const) {
    flow[list].forEach((step, i) => {
      lines([list, i, 'how'], step.how);
      add([list, i, 'why'], step.why);
      step.hazards.forEach(({ text }, j) => {
        add([list, i, 'hazards', j, 'text'], text);
      });
    });
  }
  flow.checks.forEach((check, i) => {
    add(['checks', i, 'ask'], check.ask, true);
    (check.outcomes ?? []).forEach(({ label }, j) => {
      add(['checks', i, 'outcomes', j, 'label'], label, true);
    });
  });
  flow.closing.forEach((words, i) => {
    add(['closing', i], words);
  });
  return all;
}

function longSentences(all: readonly Text[]): Finding[] {
  return all.flatMap(({ path, words }): Finding[] => {
    const counts = words
      .split(/[.!?:;](?:\s|$)/)
      .map((one) => one.split(/\s+/).filter((w) => /[\p{L}\p{N}]/u.test(w)).length);
    const most = Math.max(...counts);
    if (most <= longest) return [];
    return [
      {
        path,
        on: 'value',
        problem: `a sentence of ${most} words`,
        instead: `make two of it: ${longest} words are hard enough to read in a hurry`,
      },
    ];
  });
}

/** A comma in `[...]` begins a new entry. Nobody begins an instruction with a small letter on purpose. */
function tornLines(flow: Flow): Finding[] {
  const lists: (readonly [Path, readonly string[] | undefined])[] = [
    ...flow.details.map(({ how }, i) => [['details', i, 'how'], how] as const),
    ...flow.checks.map(({ how }, i) => [['checks', i, 'how'], how] as const),
    ...flow.remedies.flatMap(
      ({ how, part }, i) =>
        [
          [['remedies', i, 'how'], how],
          [['remedies', i, 'part', 'match'], part?.match],
        ] as const,
    ),
    [['closing'], flow.closing],
  ];
  return lists.flatMap(([path, lines = []]) =>
    lines.flatMap((line, i): Finding[] =>
      i > 0 && /^\p{Ll}/u.test(line)
        ? [
            {
              path: [...path, i],
              on: 'value',
              problem: 'a line that begins with a small letter',
              instead: 'put the whole line in quotes: a comma in [ ] begins a new entry',
            },
          ]
        : [],
    ),
  );
}

/** A word of the trade in a question or an instruction that the glossary does not explain; told once. */
function unexplained(flow: Flow, all: readonly Text[]): Finding[] {
  const known = Object.keys(flow.glossary).map((word) => word.toLowerCase());
  const told = new Set<string>();
  return all.flatMap(({ path, words, asked }): Finding[] => {
    if (!asked) return [];
    const plain = words.toLowerCase();
    return patterns.flatMap(({ word, pattern }): Finding[] => {
      if (told.has(word) || known.some((one) => one === word || one.includes(word) || word.includes(one)))
        return [];
      if (!pattern.test(plain)) return [];
      told.add(word);
      return [
        {
          path,
          on: 'value',
          problem: `${quote(word)} is a word of the trade, and the glossary does not explain it`,
          instead: `add ${quote(word)} to "glossary:", or say it plainly`,
        },
      ];
    });
  });
}

import { describe, expect, it } from 'vitest';
import { parseFlow } from '../src/flows.ts';
import { type Change, changed, flowOf, lamp, saidOf } from './desk-lamp.ts';

/** Every check of a flow file: one change to a good file makes one problem, in the right line. */
interface Case {
  readonly behaviour: string;
  readonly changes: readonly Change[];
  /** Text of the line that is blamed, and what is said after its place. */
  readonly at: string;
  readonly said: string | RegExp;
}

const lineOf = (source: string, text: string): number =>
  source.slice(0, source.indexOf(text)).split('\n').length;

/** Each change makes exactly one problem, on the line that holds `at`. */
function eachMakesOneProblem(cases: readonly Case[]): void {
  it.each(cases)('$behaviour', ({ changes, at, said }) => {
    const source = changed(...changes);
    const all = saidOf(source);
    expect(all).toHaveLength(1);
    const [line = ''] = all;
    expect(line).toMatch(new RegExp(`^${lineOf(source, at)}:\\d+ `));
    if (typeof said === 'string') expect(line).toContain(said);
    else expect(line).toMatch(said);
    expect(parseFlow(source, 'lamp')).toHaveProperty('problems');
  });
}

const hazards = `    hazards:
      - { word: WARNING, text: Parts in here carry the mains when it is plugged in. }
`;
const lookNeeds = `    needs:
      - { check: fuse-test, outcome: good }
`;
const fuseBands = `        - { id: good, label: Under 5 ohm, below: 5 }
`;

function replacedAll(from: string, to: string): Change[] {
  return Array.from({ length: lamp.split(from).length - 1 }, () => [from, to] as const);
}

const secondStage = (id: string, behind: string): string => `  - id: ${id}
    name: The ${id} is out
    behind: ${behind}
    open: { minutes: 1, how: [Pull.] }
    close: { minutes: 1, how: [Push.] }
    hazards: [{ word: NOTICE, text: It breaks easily. }]
    source: invented for the tests
`;

describe('what the schema says, in words', () => {
  eachMakesOneProblem([
    {
      behaviour: 'a currency in small letters',
      changes: [['high: 30, currency: GBP', 'high: 30, currency: gbp']],
      at: 'currency: gbp',
      said: '"gbp" is not written as it should be; write "GBP"',
    },
    {
      behaviour: 'a text of nothing but spaces',
      changes: [['title: Desk lamp', 'title: "  "']],
      at: 'title:',
      said: 'title: empty text; write something',
    },
    {
      behaviour: 'a value that is none of several forms',
      changes: [['  - new-bulb\n  - fuse', '  - 7\n  - fuse']],
      at: '- 7',
      said: 'sheet > entry 2: 7 is not possible here; write text or a block of names and values, indented',
    },
    {
      behaviour: 'a fault that only "otherwise" cures is only told that "ends" is missing',
      changes: [
        ['    mends: A new lead.\n    ends: people\n', '    mends: A new lead.\n'],
        ['cures: { lead: 0.95 }', 'cures: { otherwise: 0.5 }'],
      ],
      at: '- id: lead\n',
      said: 'faults > lead: "ends" is missing',
    },
    {
      behaviour: 'a fault that nothing cures and for which nobody is named',
      changes: [
        ['    mends: A new lead.\n    ends: people\n', '    mends: A new lead.\n'],
        ['cures: { lead: 0.95 }', 'cures: { bulb: 0.5, lead: 0 }'],
      ],
      at: '- id: lead\n',
      said: 'faults > lead: a fault no remedy or referral answers',
    },
    {
      behaviour: 'a missing field is placed at the block that lacks it',
      changes: [['    plain: The part that gives light has worn out.\n', '']],
      at: '- id: bulb\n    name',
      said: 'faults > bulb: "plain" is missing; add "plain:" with text',
    },
    {
      behaviour: 'a misspelt field is said once, with the right spelling',
      changes: [['minutes: 25', 'minuts: 25']],
      at: 'minuts',
      said: 'remedies > new-lead: unknown name "minuts"; write "minutes"',
    },
    {
      behaviour: 'a field that belongs nowhere is to be taken out',
      changes: [['minutes: 25', 'minutes: 25\n    colour: red']],
      at: 'colour',
      said: 'unknown name "colour"; take it out',
    },
    {
      behaviour: 'an id with capitals and spaces is put right',
      changes: [['- id: built-in', '- id: Built In']],
      at: 'Built In',
      said: 'write "built-in": an id is small letters',
    },
    {
      behaviour: 'a share above 1 is said to be one',
      changes: [['cures: { bulb: 0.98 }', 'cures: { bulb: 98 }']],
      at: 'bulb: 98',
      said: '98 is above 1; write a share between 0 and 1: 80 % is 0.8',
    },
    {
      behaviour: 'a line of a list with a colon in it is to be quoted',
      changes: [['Let it cool.', 'Wait: it is hot']],
      at: 'Wait: it is hot',
      said: 'put the whole line in quotes',
    },
    {
      behaviour: 'one text where a list was wanted',
      changes: [['tools: [screwdriver]', 'tools: screwdriver']],
      at: 'tools: screwdriver',
      said: 'write a list (lines that begin with "- ")',
    },
    {
      behaviour: 'a year alone is a number and wants quotes and a month',
      changes: [['dated: 2026-01', 'dated: 2026']],
      at: 'dated: 2026,',
      said: '2026 is not text; put it in quotes',
    },
    {
      behaviour: 'nothing after a name',
      changes: [['title: Desk lamp', 'title:']],
      at: 'title:',
      said: 'nothing stands after "title"; write text',
    },
    {
      behaviour: 'a word that is one of few, misspelt',
      changes: [['before: first', 'before: frist']],
      at: 'frist',
      said: '"frist" is not possible here; write "first"',
    },
    {
      behaviour: 'an unknown kind of energy',
      changes: [['stores: none', 'stores: capacitor']],
      at: 'stores: capacitor',
      said: 'energy > stores: "capacitor" is not possible here; write "capacitors"',
    },
    {
      behaviour: 'in an alternative, the form that was meant is spoken of',
      changes: [['{ at: 0.3, within: 0.5 }', '{ at: 0.3, whitin: 0.5 }']],
      at: 'whitin',
      said: 'unknown name "whitin"; write "within"',
    },
    {
      behaviour: 'in an alternative, a value that is none of them',
      changes: [['{ at: 0.3, within: 0.5 }', '{ at: mains-peek, within: 0.5 }']],
      at: 'mains-peek',
      said: '"mains-peek" is not possible here; write "mains-peak"',
    },
    {
      behaviour: 'a label too long for a button',
      changes: [['title: Desk lamp', `title: ${'lamp '.repeat(15)}lamp`]],
      at: 'title:',
      said: '79 characters; shorten it to at most 70',
    },
    {
      behaviour: 'a stage without hazards',
      changes: [['    hazards:\n      - { word: CAUTION, text: The edge of the base is sharp. }\n', '']],
      at: '- id: base-off',
      said: 'access > base-off: "hazards" is missing',
    },
    {
      behaviour: 'an appliance that stores energy and has no proof point',
      changes: [
        [
          'stores: none',
          'stores: capacitors\n  wait_minutes: 5\n  minutes: 3\n  points: []\n  source: invented for the tests',
        ],
      ],
      at: 'points: []',
      said: 'an appliance that stores energy, and nothing says where it is proven safe; add "points:"',
    },
    {
      behaviour: 'another kind of energy without its proof',
      changes: [
        ['stores: none', 'stores: spring\n  wait_minutes: 0\n  minutes: 3\n  source: invented for the tests'],
      ],
      at: 'energy:',
      said: 'nothing says where it is proven safe; add "proof:"',
    },
    {
      behaviour: 'a fault that a remedy cures is only told that "ends" is missing',
      changes: [['    mends: A new lead.\n    ends: people\n', '    mends: A new lead.\n']],
      at: '- id: lead\n',
      said: 'faults > lead: "ends" is missing',
    },
  ]);
});

describe('names', () => {
  eachMakesOneProblem([
    {
      behaviour: 'a group called otherwise',
      changes: [['supply: [plug-fuse, lead]', 'supply: [plug-fuse, lead]\n  otherwise: [bulb]']],
      at: 'otherwise: [bulb]',
      said: 'groups: "otherwise" means "all other faults"; give the group another name',
    },
    {
      behaviour: 'a fault called otherwise',
      changes: [
        [
          'faults:\n',
          'faults:\n  - { id: otherwise, name: Another, plain: X, weight: 1, source: invented, mends: X, ends: people }\n',
        ],
        ['something-else: 0.5 }', 'something-else: 0.5, otherwise: 0.1 }'],
      ],
      at: 'id: otherwise',
      said: '"otherwise" means "all other faults"',
    },
    {
      behaviour: 'a proof point with the id of a step of every proof',
      changes: [
        [
          'stores: none',
          'stores: capacitors\n  wait_minutes: 5\n  minutes: 3\n  points: [{ id: known-source-before, name: A, how: B }]\n  source: invented',
        ],
      ],
      at: 'known-source-before',
      said: '"known-source-before" is a step of every proof',
    },
    {
      behaviour: 'an unknown idea in what rules a complaint out',
      changes: [['words: [+flicker]', 'words: [+flicker]\n    never: [-lihgt]']],
      at: 'lihgt',
      said: 'complaints > flickers > never > entry 1: unknown idea "lihgt"; write "light"',
    },
    {
      behaviour: 'an unknown fault among the cures',
      changes: [['cures: { bulb: 0.98 }', 'cures: { blub: 0.98 }']],
      at: 'blub',
      said: 'remedies > new-bulb > cures: unknown fault "blub"; write "bulb"',
    },
    {
      behaviour: 'an unknown fault in what a meter shows makes no further trouble',
      changes: [['plug-fuse: { from: 100000', 'plug-fuze: { from: 100000']],
      at: 'plug-fuze',
      said: 'unknown fault "plug-fuze"; write "plug-fuse"',
    },
    {
      behaviour: 'an unknown fault among the answers to a detail',
      changes: [['likely: { bulb: 0.4, otherwise: 0.3 }', 'likely: { bulb: 0.4, otherwies: 0.3 }']],
      at: 'otherwies',
      said: 'unknown fault "otherwies"; write "otherwise"',
    },
    {
      behaviour: 'a group that is called like a fault',
      changes: [
        ['supply: [plug-fuse, lead]', 'lead: [plug-fuse, lead]'],
        ['likely: { bulb: 0.9, supply: 1,', 'likely: { bulb: 0.9, lead: 1, plug-fuse: 1,'],
      ],
      at: 'lead: [plug-fuse, lead]',
      said: 'the group "lead" is called like a fault',
    },
    {
      behaviour: 'a fault in two groups with different numbers',
      changes: [
        ['supply: [plug-fuse, lead]', 'supply: [plug-fuse, lead]\n  wires: [lead]'],
        ['likely: { bulb: 0.9, supply: 1,', 'likely: { bulb: 0.9, supply: 1, wires: 0.8,'],
      ],
      at: 'likely: { bulb: 0.9',
      said: '"lead" stands in both groups, "supply" or "wires"; add a line for "lead"',
    },
    {
      behaviour: 'no fault for all the rest',
      changes: [['- id: something-else\n', '- id: other\n'], ...replacedAll('something-else:', 'other:')],
      at: 'faults:',
      said: 'no fault has the id "something-else", for all that the others do not cover; call "other" so',
    },
    {
      behaviour: 'a step with the id of another, of whatever kind',
      changes: [
        ['- id: new-fuse', '- id: base-off'],
        ['  - new-fuse\n', ''],
      ],
      at: '- id: base-off\n    name: Put in a new fuse',
      said: /the id "base-off" is used twice \(first on line \d+\); give each its own/,
    },
    {
      behaviour: 'two faults with one id',
      changes: [
        [
          'faults:\n',
          'faults:\n  - { id: lead, name: Another, plain: X, weight: 1, source: invented, mends: X, ends: people }\n',
        ],
      ],
      at: '- id: lead\n',
      said: /the id "lead" is used twice \(first on line 45\)/,
    },
    {
      behaviour: 'two outcomes with one id',
      changes: [['id: firm', 'id: loose']],
      at: 'label: All wires are firm',
      said: 'checks > lead-look > outcomes > loose > id: the id "loose" is used twice',
    },
    {
      behaviour: 'a part and a lead of the map with one id',
      changes: [
        ['{ id: base, label', '{ id: mains-lead, label'],
        ['to: base }', 'to: bulb }'],
      ],
      at: 'label: mains lead',
      said: 'the id "mains-lead" is used twice',
    },
    {
      behaviour: 'an id that the conversation itself uses',
      changes: [
        ['- id: bulb-kind', '- id: level'],
        ['when: { bulb-kind:', 'when: { level:'],
      ],
      at: '- id: level',
      said: '"level" is the name of a question that every appliance has',
    },
    {
      behaviour: 'a complaint whose id is an answer that is always offered',
      changes: [['- id: flickers', '- id: danger']],
      at: '- id: danger',
      said: '"danger" is an answer that every appliance has',
    },
    {
      behaviour: 'a stage called outside',
      changes: [...replacedAll('base-off', 'outside')],
      at: '- id: outside',
      said: '"outside" means the closed appliance',
    },
    {
      behaviour: 'two complaints that read alike',
      changes: [['label: It flickers', 'label: it does not  light up']],
      at: 'it does not  light up',
      said: /two complaints read "it does not {2}light up" \(first on line \d+\)/,
    },
    {
      behaviour: 'two faults that are called alike',
      changes: [['name: The lead', 'name: The Bulb']],
      at: 'name: The Bulb',
      said: 'two faults are called "The Bulb"',
    },
    {
      behaviour: 'a check and a remedy that are called alike',
      changes: [['name: Fit a new lead', 'name: Measure the fuse']],
      at: 'name: Measure the fuse\n    why: A broken',
      said: 'two steps are called "Measure the fuse"',
    },
    {
      behaviour: 'two bands that read alike',
      changes: [['label: 5 ohm or more', 'label: Under 5 ohm']],
      at: '{ id: open',
      said: 'two bands read "Under 5 ohm"',
    },
    {
      behaviour: 'a pattern over an idea that does not exist',
      changes: [['words: [+flicker]', 'words: [+light then -fliker]']],
      at: 'fliker',
      said: 'unknown idea "fliker"; write "flicker"',
    },
  ]);

  it('may stand in two groups that say the same, or differ where the fault has its own line', () => {
    const groups = ['supply: [plug-fuse, lead]', 'supply: [plug-fuse, lead]\n  wires: [lead]'] as const;
    const row = 'likely: { bulb: 0.9, supply: 1,';
    expect(saidOf(changed(groups, [row, 'likely: { bulb: 0.9, supply: 1, wires: 1,']))).toEqual([]);
    expect(saidOf(changed(groups, [row, 'likely: { bulb: 0.9, supply: 1, lead: 1, wires: 0.2,']))).toEqual(
      [],
    );
  });

  it('are not called unknown while the list that would hold them cannot be read', () => {
    expect(saidOf(changed(['- id: lead\n    name: The lead', '- name: The lead']))).toEqual([
      expect.stringContaining('faults > The lead: "id" is missing'),
    ]);
  });
});

describe('numbers', () => {
  eachMakesOneProblem([
    {
      behaviour: 'mains on a meter that cannot show so much',
      changes: [
        ['at: 0.3, within: 0.5', 'at: mains, within: 5'],
        ['max: 2000000', 'max: 200'],
        ['{ from: 100000, to: 2000000 }', '{ from: 10, to: 20 }'],
      ],
      at: 'at: mains',
      said: '230 lies outside what the meter can show (0 to 200)',
    },
    {
      behaviour: 'bands around the mains peak, judged at 230 V',
      changes: [
        [
          fuseBands,
          '        - { id: good, label: High, below: mains-peak }\n        - { id: low, label: Low, below: 325 }\n',
        ],
      ],
      at: 'id: low',
      said: 'the bands do not go up: 325 comes after 325.269',
    },
    {
      behaviour: 'outcomes above 1 name the fault and the sum',
      changes: [['likely: { lead: 0.2, otherwise: 0.98 }', 'likely: { lead: 0.35, otherwise: 0.98 }']],
      at: 'outcomes:\n      - { id: loose',
      said: 'the outcomes sum to 1.15 for the fault "lead"; lower them to 1',
    },
    {
      behaviour: 'outcomes above 1 beside one that takes the rest',
      changes: [
        [
          'label: It stays dark, rest: true }',
          'label: Dark, likely: { otherwise: 0.99 } }\n      - { id: x, label: X, rest: true }',
        ],
      ],
      at: 'outcomes:\n      - { id: lights',
      said: 'the outcomes sum to 1.94 for the fault "bulb" (and 3 more faults)',
    },
    {
      behaviour: 'outcomes that do not reach 1 and none that takes the rest',
      changes: [['likely: { lead: 0.2, otherwise: 0.98 }', 'likely: { lead: 0.2, otherwise: 0.9 }']],
      at: 'outcomes:\n      - { id: loose',
      said: 'the outcomes sum to 0.92 for the fault "bulb" (and 2 more faults) and none takes the rest',
    },
    {
      behaviour: 'two outcomes that take the rest',
      changes: [
        [
          'label: It lights up, likely: { bulb: 0.95, otherwise: 0.02 } }',
          'label: It lights up, rest: true }',
        ],
      ],
      at: 'id: dark',
      said: 'a second outcome with "rest" (first on line 95)',
    },
    {
      behaviour: 'an outcome with both',
      changes: [
        ['label: It stays dark, rest: true', 'label: It stays dark, likely: { bulb: 0.1 }, rest: true'],
      ],
      at: 'id: dark',
      said: 'this outcome has both "likely" and "rest"',
    },
    {
      behaviour: 'an outcome with neither',
      changes: [['label: It stays dark, rest: true', 'label: It stays dark']],
      at: 'id: dark',
      said: 'this outcome has neither "likely" nor "rest"',
    },
    {
      behaviour: 'a check with outcomes and a reading',
      changes: [
        [
          '    reading:\n',
          '    outcomes: [{ id: a, label: A, rest: true }, { id: b, label: B, likely: { bulb: 1 } }]\n    reading:\n',
        ],
      ],
      at: 'reading:',
      said: 'checks > fuse-test > reading: this check has both "outcomes" and "reading"',
    },
    {
      behaviour: 'a check with neither',
      changes: [
        [
          `    outcomes:
      - { id: lights, label: It lights up, likely: { bulb: 0.95, otherwise: 0.02 } }
      - { id: dark, label: It stays dark, rest: true }
`,
          '',
        ],
        ['  - { step: other-bulb, jumps: [{ outcome: dark, to: fuse-test }] }', '  - other-bulb'],
      ],
      at: '- id: other-bulb',
      said: 'checks > other-bulb: this check has neither "outcomes" nor "reading"',
    },
    {
      behaviour: 'complaints above 1 for a fault',
      changes: [['likely: { bulb: 0.1, something-else: 0.4 }', 'likely: { bulb: 0.1, something-else: 0.7 }']],
      at: 'complaints:',
      said: 'complaints: the likelihoods of all complaints sum to 1.2 for the fault "something-else"',
    },
    {
      behaviour: 'a fault that no complaint brings in',
      changes: [['supply: 1, something-else: 0.5', 'lead: 1, something-else: 0.5']],
      at: '- id: plug-fuse',
      said: 'no complaint is likely with the fault "plug-fuse", so it can never come in',
    },
    {
      behaviour: 'answers to a detail above 1 for a fault',
      changes: [
        ['label: One that screws in\n', 'label: One that screws in\n        likely: { bulb: 0.7 }\n'],
      ],
      at: 'choices:',
      said: 'the likelihoods of the choices sum to 1.1 for the fault "bulb"',
    },
    {
      behaviour: 'bands that do not go up',
      changes: [[fuseBands, `${fuseBands}        - { id: low, label: Low, below: 5 }\n`]],
      at: 'id: low',
      said: 'the bands do not go up: 5 comes after 5',
    },
    {
      behaviour: 'a last band that ends',
      changes: [['label: 5 ohm or more', 'label: 5 ohm or more, below: 9']],
      at: 'id: open',
      said: 'the last band has "below"',
    },
    {
      behaviour: 'a band before the last that does not end',
      changes: [['label: Under 5 ohm, below: 5', 'label: Under 5 ohm']],
      at: 'id: good, label',
      said: 'this band has no "below", and it is not the last one',
    },
    {
      behaviour: 'a band outside what the meter can show',
      changes: [['below: 5 }', 'below: 5000000 }']],
      at: 'id: good, label',
      said: '5000000 lies outside what the meter can show (0 to 2000000)',
    },
    {
      behaviour: 'a value outside what the meter can show',
      changes: [['at: 0.3', 'at: -3']],
      at: 'at: -3',
      said: 'expect > otherwise > at: -3 lies outside what the meter can show',
    },
    {
      behaviour: 'a meter that can show nothing',
      changes: [['max: 2000000', 'max: 0']],
      at: 'max: 0',
      said: '"max" is 0 and "min" is 0',
    },
    {
      behaviour: 'a range from high to low',
      changes: [['from: 100000, to: 2000000', 'from: 100000, to: 10']],
      at: 'to: 10 }',
      said: 'from 100000 to 10 is no range',
    },
    {
      behaviour: 'shares of a list that are not one whole',
      changes: [
        [
          'otherwise: { at: 0.3, within: 0.5 }',
          'otherwise: [{ at: 0.3, within: 0.5, share: 0.6 }, { at: 9, within: 1, share: 0.3 }]',
        ],
      ],
      at: 'share: 0.6',
      said: 'the shares sum to 0.9; let them sum to 1',
    },
    {
      behaviour: 'a reading that is silent about a fault',
      changes: [['otherwise: { at: 0.3', 'bulb: { at: 0.3']],
      at: 'expect:',
      said: 'nothing says what the meter shows with "lead" and "something-else"',
    },
    {
      behaviour: 'a price from high to low',
      changes: [['low: 10, high: 30', 'low: 40, high: 30']],
      at: 'low: 40',
      said: 'replace > price > low: the low price 40 is above the high one, 30',
    },
    {
      behaviour: 'a day that does not exist',
      changes: [['high: 30, currency: GBP, dated: 2026-01', 'high: 30, currency: GBP, dated: 2026-02-30']],
      at: '2026-02-30',
      said: 'there is no 2026-02-30',
    },
  ]);

  it('may be equal shares without saying so', () => {
    const source = changed([
      'otherwise: { at: 0.3, within: 0.5 }',
      'otherwise: [{ at: 0.3, within: 0.5 }, { at: 9, within: 1 }]',
    ]);
    expect(saidOf(source)).toEqual([]);
  });

  it('may sum to 1 only up to the rounding of a computer', () => {
    const source = changed(
      ['likely: { lead: 0.8, otherwise: 0.02 }', 'likely: { otherwise: 0.1 }'],
      [
        'likely: { lead: 0.2, otherwise: 0.98 }',
        'likely: { otherwise: 0.2 } }\n      - { id: odd, label: Odd, likely: { otherwise: 0.7 }',
      ],
    );
    expect(saidOf(source).filter((line) => line.includes('sum'))).toEqual([]);
  });
});

describe('stages and steps that somebody can reach', () => {
  eachMakesOneProblem([
    {
      behaviour: 'three stages behind each other, in whatever order, said once',
      changes: [
        [
          'access:\n',
          `access:\n${secondStage('core', 'shell')}${secondStage('shell', 'frame')}${secondStage('frame', 'core')}`,
        ],
      ],
      at: 'behind: shell',
      said: 'these stages lie behind each other: "core", "shell", "frame"',
    },
    {
      behaviour: 'a step that needs an unreachable one is not blamed for it',
      changes: [
        [
          'when: { bulb-kind: [screw] }',
          'when: { bulb-kind: [screw] }\n    needs: [{ check: lead-look, outcome: firm }]',
        ],
        ['{ check: fuse-test, outcome: good }', '{ check: other-bulb, outcome: dark }'],
        ['    reading:\n', '    needs: [{ check: lead-look, outcome: firm }]\n    reading:\n'],
      ],
      at: '- id: other-bulb',
      said: 'these need each other first: "other-bulb", "lead-look"',
    },
    {
      behaviour: 'a step that is only for answers which end the case',
      changes: [
        ['when: { bulb-kind: [screw] }', 'when: { bulb-kind: [built-in] }'],
        ['        say: Then the whole', '        stop: Then the whole'],
      ],
      at: '- id: other-bulb',
      said: 'nobody can reach this step: its answers to "bulb-kind" forbid it',
    },
    {
      behaviour: 'a step in a second cover, where every answer lets only the first one be opened',
      changes: [
        ['access:\n', `access:\n${secondStage('shade', 'outside').replace('    behind: outside\n', '')}`],
        ['access: base-off\n    minutes: 2\n', 'access: shade\n    minutes: 2\n'],
        [
          'label: One that screws in\n',
          'label: One that screws in\n        limit: { deepest: base-off, why: No. }\n',
        ],
        [
          'label: One that is built in\n',
          'label: One that is built in\n        limit: { deepest: base-off, why: No. }\n',
        ],
      ],
      at: '- id: lead-look',
      said: 'nobody can reach this step: every answer to "bulb-kind" forbids it',
    },
    {
      behaviour: 'a step at a stage that does not exist',
      changes: [['access: base-off\n    minutes: 2\n', 'access: base-of\n    minutes: 2\n']],
      at: 'access: base-of\n',
      said: 'checks > lead-look > access: unknown stage "base-of"; write "base-off"',
    },
    {
      behaviour: 'a part of the map at a stage that does not exist',
      changes: [['stage: base-off', 'stage: base']],
      at: 'stage: base,',
      said: 'unknown stage "base"',
    },
    {
      behaviour: 'a stage behind one that stands further down',
      changes: [['access:\n', `access:\n${secondStage('core', 'base-off')}`]],
      at: 'behind: base-off',
      said: 'the stage "base-off" stands further down; put the stages in the order in which they are opened',
    },
    {
      behaviour: 'a stage behind itself',
      changes: [['access:\n', `access:\n${secondStage('core', 'core')}`]],
      at: 'behind: core',
      said: 'this stage lies behind itself',
    },
    {
      behaviour: 'stages behind each other, said once',
      changes: [['access:\n', `access:\n${secondStage('core', 'shell')}${secondStage('shell', 'core')}`]],
      at: 'behind: shell',
      said: 'these stages lie behind each other: "core", "shell"',
    },
    {
      behaviour: 'a stage behind the outside',
      changes: [['access:\n', `access:\n${secondStage('core', 'outside')}`]],
      at: 'behind: outside',
      said: '"outside" is no stage; take "behind" out',
    },
    {
      behaviour: 'a stage behind one that does not exist',
      changes: [['access:\n', `access:\n${secondStage('core', 'base-on')}`]],
      at: 'behind: base-on',
      said: 'unknown stage "base-on"; write "base-off"',
    },
    {
      behaviour: 'a need for a check that does not exist',
      changes: [['{ check: fuse-test, outcome: good }', '{ check: fuse-tests, outcome: good }']],
      at: 'fuse-tests',
      said: 'checks > lead-look > needs > fuse-tests > check: unknown check "fuse-tests"; write "fuse-test"',
    },
    {
      behaviour: 'a need for what a remedy found',
      changes: [['{ check: fuse-test, outcome: good }', '{ check: new-fuse, outcome: good }']],
      at: 'check: new-fuse',
      said: '"new-fuse" is a remedy, and only checks find something',
    },
    {
      behaviour: 'a need for an outcome that does not exist',
      changes: [['{ check: fuse-test, outcome: good }', '{ check: fuse-test, outcome: god }']],
      at: 'outcome: god ',
      said: '"god" is no outcome of "fuse-test"; write "good"',
    },
    {
      behaviour: 'a need for its own finding',
      changes: [['{ check: fuse-test, outcome: good }', '{ check: lead-look, outcome: firm }']],
      at: 'check: lead-look',
      said: 'this step needs its own finding',
    },
    {
      behaviour: 'checks that need each other, said once',
      changes: [['    reading:\n', '    needs: [{ check: lead-look, outcome: firm }]\n    reading:\n']],
      at: '- id: fuse-test',
      said: 'nobody can reach this step: these need each other first: "fuse-test", "lead-look"',
    },
    {
      behaviour: 'a condition on a question that does not exist',
      changes: [['when: { bulb-kind: [screw] }', 'when: { bulb-kin: [screw] }']],
      at: 'bulb-kin:',
      said: 'checks > other-bulb > when: unknown question "bulb-kin"; write "bulb-kind"',
    },
    {
      behaviour: 'a condition on an answer that does not exist',
      changes: [['when: { bulb-kind: [screw] }', 'when: { complaint: [flicker] }']],
      at: 'complaint: [flicker]',
      said: '"flicker" is no answer to "complaint"; write "flickers"',
    },
    {
      behaviour: 'a step that is only for answers which forbid it',
      changes: [[lookNeeds, '    when: { bulb-kind: [mains-led] }\n']],
      at: '- id: lead-look',
      said: 'nobody can reach this step: its answers to "bulb-kind" forbid it',
    },
    {
      behaviour: 'a step that needs a check which is only for other cases',
      changes: [
        [
          '{ check: fuse-test, outcome: good }',
          '{ check: other-bulb, outcome: dark }\n    when: { bulb-kind: [built-in] }',
        ],
      ],
      at: '- id: lead-look',
      said: 'no answers allow both it and the checks it needs',
    },
    {
      behaviour: 'a live step that every answer to a detail forbids',
      changes: [
        [
          'access: base-off\n    minutes: 2\n    power: off',
          'access: base-off\n    bites: The terminals.\n    minutes: 2\n    power: on',
        ],
        [
          'label: One that screws in\n',
          'label: One that screws in\n        limit: { live: never, why: No. }\n',
        ],
        [
          'label: One that is built in\n',
          'label: One that is built in\n        limit: { live: never, why: No. }\n',
        ],
      ],
      at: '- id: lead-look',
      said: 'nobody can reach this step: every answer to "bulb-kind" forbids it',
    },
    {
      behaviour: 'a limit at a stage that does not exist',
      changes: [['deepest: outside', 'deepest: outsides']],
      at: 'outsides',
      said: 'unknown stage "outsides"; write "outside"',
    },
    {
      behaviour: 'a limit that forbids nothing',
      changes: [['deepest: outside, ', '']],
      at: 'limit:',
      said: 'a limit that forbids nothing',
    },
  ]);

  it('may need each other as long as there is another way in', () => {
    const source = changed(
      ['    reading:\n', '    needs: [{ check: lead-look, outcome: firm }]\n    reading:\n'],
      [lookNeeds, `${lookNeeds}      - { check: other-bulb, outcome: dark }\n`],
    );
    expect(saidOf(source)).toEqual([]);
  });
});

describe('safety', () => {
  eachMakesOneProblem([
    {
      behaviour: 'a band that is made safe by something that is no remedy',
      changes: [
        [fuseBands, fuseBands.replace('below: 5', 'below: 5, unsafe: { why: It leaks., until: [nonesuch] }')],
      ],
      at: 'nonesuch',
      said: 'unknown remedy "nonesuch"',
    },
    {
      behaviour: 'two answers that "not sure" is taken for',
      changes: [
        ['label: One that screws in\n', 'label: One that screws in\n        not_known: true\n'],
        ['label: One that is built in\n', 'label: One that is built in\n        not_known: true # again\n'],
      ],
      at: 'not_known: true # again',
      said: 'a second answer for "not sure"',
    },
    {
      behaviour: 'a step inside without hazards',
      changes: [[hazards, '']],
      at: '- id: lead-look',
      said: 'checks > lead-look: a step inside without hazards',
    },
    {
      behaviour: 'a remedy inside without hazards',
      changes: [
        ['    hazards:\n      - { word: DANGER, text: A wrongly fitted lead can make the lamp live. }\n', ''],
      ],
      at: '- id: new-lead\n',
      said: 'remedies > new-lead: a step inside without hazards',
    },
    {
      behaviour: 'live work that does not say what can bite',
      changes: [['minutes: 2\n    power: off', 'minutes: 2\n    power: on']],
      at: 'power: on\n    hazards',
      said: 'live work that does not say what can bite',
    },
    {
      behaviour: 'a look that does not say how to put it back',
      changes: [['minutes: 2\n    power: off', 'minutes: 2\n    power: look']],
      at: 'power: look',
      said: 'a look that does not say how to put it back',
    },
    {
      behaviour: 'a look outside',
      changes: [['power: on', 'power: look\n    restore: Put it back.']],
      at: 'access: outside',
      said: 'a look is prepared inside, and this one is outside',
    },
    {
      behaviour: 'a text with a sign that cannot be seen',
      changes: [['name: The bulb', 'name: "The \\u0007bulb"']],
      at: 'u0007',
      said: 'a sign that cannot be seen (U+0007) stands in this text',
    },
    {
      behaviour: 'a text that turns the direction of reading',
      changes: [['text: The edge of the base is sharp.', 'text: "The edge \\u202Eof the base"']],
      at: 'u202E',
      said: '(U+202E)',
    },
  ]);

  it('says nothing about hazards that are only misspelt', () => {
    expect(saidOf(changed([hazards, hazards.replace('hazards', 'hazard')]))).toEqual([
      expect.stringContaining('unknown name "hazard"; write "hazards"'),
    ]);
  });
});

describe('the map and the sheet', () => {
  eachMakesOneProblem([
    {
      behaviour: 'a mark of a proof point that is neither a part nor a lead',
      changes: [
        [
          'stores: none',
          'stores: capacitors\n  wait_minutes: 5\n  minutes: 3\n  points: [{ id: big, name: A, how: B, marks: [bas] }]\n  source: invented',
        ],
      ],
      at: 'marks: [bas]',
      said: 'energy > points > big > marks > entry 1: unknown part or lead of the map "bas"; write "base"',
    },
    {
      behaviour: 'a mark that is neither a part nor a lead',
      changes: [['marks: [bulb]', 'marks: [blub]']],
      at: 'blub',
      said: 'faults > bulb > marks > entry 1: unknown part or lead of the map "blub"; write "bulb"',
    },
    {
      behaviour: 'a lead to a part that does not exist',
      changes: [['from: plug, to: base', 'from: plug, to: bas']],
      at: 'to: bas ',
      said: 'unknown part "bas"; write "base"',
    },
    {
      behaviour: 'a lead to another lead',
      changes: [['from: plug, to: base', 'from: plug, to: mains-lead']],
      at: 'to: mains-lead',
      said: 'unknown part "mains-lead"',
    },
    {
      behaviour: 'a part above the upper edge',
      changes: [['x: 60, y: 0,', 'x: 60, y: -1,']],
      at: 'y: -1',
      said: 'the part "bulb" lies outside the map (-1 to 19 of 60)',
    },
    {
      behaviour: 'a step of the sheet that does not exist',
      changes: [['  - lead-look\n', '  - lead-lock\n']],
      at: 'lead-lock',
      said: 'unknown step "lead-lock"; write "lead-look"',
    },
    {
      behaviour: 'a jump backwards',
      changes: [['  - lead-look\n', '  - { step: lead-look, jumps: [{ outcome: firm, to: new-bulb }] }\n']],
      at: 'to: new-bulb',
      said: 'the step "new-bulb" does not come later in the sheet',
    },
    {
      behaviour: 'a jump to nowhere',
      changes: [['to: fuse-test', 'to: fuse']],
      at: 'to: fuse ',
      said: 'unknown step "fuse"',
    },
    {
      behaviour: 'a jump from an outcome that does not exist',
      changes: [['{ outcome: dark,', '{ outcome: drak,']],
      at: 'drak',
      said: '"drak" is no outcome of "other-bulb"; write "dark"',
    },
    {
      behaviour: 'two jumps from one outcome',
      changes: [['to: fuse-test }]', 'to: fuse-test }, { outcome: dark, to: new-fuse }]']],
      at: 'to: fuse-test',
      said: 'a second jump from "dark"',
    },
    {
      behaviour: 'a jump from a remedy',
      changes: [['  - new-bulb\n', '  - { step: new-bulb, jumps: [{ outcome: works, to: new-fuse }] }\n']],
      at: 'step: new-bulb',
      said: '"new-bulb" is a remedy and has no outcomes to jump from',
    },
  ]);
});

describe('advice', () => {
  const adviceOn = (...changes: readonly Change[]): string[] => {
    const parsed = parseFlow(changed(...changes), 'lamp');
    flowOf(parsed);
    return 'advice' in parsed ? parsed.advice.map(({ line, problem }) => `${line} ${problem}`) : [];
  };

  it('names a check that says the same whatever the fault is', () => {
    expect(adviceOn(['likely: { bulb: 0.95, otherwise: 0.02 }', 'likely: { otherwise: 0.5 }'])).toEqual([
      '85 this check says the same whatever the fault is, so it is never asked',
    ]);
  });

  it('names a part that costs more than a replacement', () => {
    expect(adviceOn(['price: { low: 2, high: 6', 'price: { low: 20, high: 60'])).toEqual([
      '145 the part costs 20 GBP or more, a replacement 10 GBP or more',
    ]);
  });

  it('names a fault that nothing cures and nothing tells from something else', () => {
    const changes = [
      ['cures: { plug-fuse: 0.9 }', 'cures: { bulb: 0.1 }'],
      ['plug-fuse: { from', 'lead: { from'],
    ] as const;
    expect(adviceOn(...changes)).toEqual([
      '53 no remedy cures "plug-fuse", and no check tells it from something else',
    ]);
  });

  it('names likelihoods of a detail that come from nowhere', () => {
    expect(
      adviceOn([
        '        likely: { bulb: 0.4, otherwise: 0.3 }\n        source: invented for the tests\n',
        '        likely: { bulb: 0.4, otherwise: 0.3 }\n',
      ]),
    ).toEqual(['39 likelihoods without "source"']);
  });

  it('names bands that are in order at 230 V only', () => {
    const bands =
      '        - { id: good, label: Under 5 ohm, below: 200 }\n        - { id: mid, label: Mid, below: mains-peak }\n';
    expect(adviceOn([fuseBands, bands])).toEqual(['115 at 100 V mains these bands do not go up']);
  });
});

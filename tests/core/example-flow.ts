import { Community } from '../../shared/community.ts';
import type { Check, Remedy } from '../../shared/flow.ts';
import { Flow } from '../../shared/flow.ts';
import type { Person } from '../../shared/person.ts';
import type { Settings } from '../../src/core/settings.ts';

/**
 * A small flow of an invented table radio: two nested covers, capacitors, a look, readings dead and live, parts, waits,
 * limits. Every number is invented; nothing in it is advice. Small, so that thousands of conversations cost seconds.
 */

const invented = 'invented for the tests';
const price = { low: 4, high: 8, currency: 'GBP', dated: '2026-01', source: invented } as const;
const charge = { word: 'DANGER', text: 'The big can may still be charged.' } as const;
type Unsourced<T> = Omit<T, 'source'>;
const sourced = <T>(items: readonly Unsourced<T>[]): T[] =>
  items.map((item) => ({ ...item, source: invented }) as T);

const action = { wait_minutes: 0, tools: [], people: 1, hazards: [], marks: [] };
const remedy = { ...action, alone: false, times: 1, why: 'It often helps.' };
const outcomes = (
  yes: string,
  no: string,
  likely: Record<string, number>,
): NonNullable<Check['outcomes']> => [
  { id: 'yes', label: `Yes, ${yes}`, likely: { ...likely, otherwise: 0.05 } },
  { id: 'no', label: `No, ${no}`, rest: true },
];

export const radio: Flow = Flow.parse({
  flow: 'table-radio',
  version: 1,
  title: 'Table radio',
  noun: 'radio',
  names: ['radio', 'table radio'],
  category: 'Hi-Fi separates',
  mains: true,
  energy: {
    stores: 'capacitors',
    wait_minutes: 20,
    minutes: 6,
    points: [
      { id: 'big-can', name: 'The big can', how: 'Red on plus, black on minus.', marks: [] },
      { id: 'lamp-feed', name: 'The feed of the dial lamp', how: 'Across the lamp feed.', marks: [] },
    ],
    source: invented,
  },
  glossary: { transformer: 'The transformer turns mains into low volts.' },
  groups: { supply: ['big-can-dry', 'supply-fuse'] },
  ideas: {
    silent: ['silent', 'no sound', 'mute'],
    hum: ['hums', 'humming'],
    lifeless: ['dead', 'nothing lights'],
  },
  complaints: sourced<Flow['complaints'][number]>([
    {
      id: 'silent',
      label: 'It lights up, but it is silent',
      words: ['+silent'],
      never: [],
      likely: { latched: 0.7, 'speaker-lead': 0.8, speaker: 0.8, knob: 0.9, joint: 0.6, otherwise: 0.03 },
    },
    {
      id: 'hums',
      label: 'It hums',
      words: ['+hum'],
      never: [],
      likely: { 'big-can-dry': 0.7, otherwise: 0.05 },
    },
    {
      id: 'dead',
      label: 'Nothing lights up',
      words: ['+lifeless'],
      never: [],
      likely: { 'supply-fuse': 0.9, latched: 0.2, otherwise: 0.04 },
    },
  ]),
  details: [
    {
      id: 'kind',
      ask: 'What kind of radio is it?',
      why: 'Some kinds stay closed.',
      before: 'first',
      choices: [
        { id: 'solid', label: 'One with transistors' },
        {
          id: 'glass',
          label: 'One with glass valves',
          limit: { deepest: 'back-off', live: 'never', why: 'Valves run on hundreds of volts.' },
        },
        {
          id: 'spirit',
          label: 'One that burns spirit',
          limit: { deepest: 'outside', why: 'It stays closed.' },
        },
        {
          id: 'not-known',
          label: 'I do not know',
          not_known: true,
          limit: { deepest: 'outside', why: 'It stays closed until somebody knows.' },
        },
        { id: 'recalled', label: 'Its maker has called it back', stop: 'Do what the maker says.' },
      ],
    },
    {
      id: 'weight',
      ask: 'Can you turn it over?',
      why: 'A heavy one falls.',
      before: 'inside',
      choices: [
        { id: 'light', label: 'Yes' },
        {
          id: 'heavy',
          label: 'No, it is too heavy for me',
          limit: { deepest: 'outside', why: 'It would fall.' },
        },
      ],
    },
    {
      id: 'age',
      ask: 'How old is it?',
      why: 'Old parts look different.',
      before: 'part',
      choices: [
        { id: 'young', label: 'Under 10 years' },
        { id: 'old', label: 'Older', say: 'Then second-hand parts are your friend.' },
      ],
    },
  ],
  faults: sourced<Flow['faults'][number]>([
    ...(
      [
        ['latched', 'A stuck state', 5],
        ['knob', 'The volume knob', 2],
        ['speaker-lead', 'The speaker lead', 4],
        ['speaker', 'The speaker', 3],
        ['big-can-dry', 'A dry big can', 3],
        ['supply-fuse', 'The fuse inside', 2],
        ['joint', 'A cracked joint', 2],
        ['something-else', 'Something else', 1],
      ] as const
    ).map(([id, name, weight]) => ({
      id,
      name,
      plain: `${name} is to blame.`,
      weight,
      mends: `Somebody sees to it: ${name}.`,
      ends: 'people' as const,
      marks: [],
    })),
  ]),
  access: sourced<Flow['access'][number]>([
    {
      id: 'back-off',
      name: 'The back',
      open: { minutes: 4, how: ['Take four screws out.'] },
      close: { minutes: 4, how: ['Put four screws back.'] },
      tools: ['Screwdriver'],
      people: 1,
      hazards: [charge],
    },
    {
      id: 'chassis-out',
      name: 'The chassis',
      behind: 'back-off',
      open: { minutes: 6, how: ['Slide the chassis out.'] },
      close: { minutes: 6, how: ['Slide the chassis in.'] },
      tools: [],
      people: 1,
      hazards: [charge],
    },
  ]),
  checks: sourced<Check>([
    {
      ...action,
      id: 'dial-lamp',
      name: 'Look at the dial lamp',
      how: ['Plug it in and switch it on.'],
      access: 'outside',
      minutes: 1,
      ask: 'Does the lamp behind the dial glow?',
      why: 'It tells whether it gets power.',
      power: 'on',
      outcomes: outcomes('it glows', 'it stays dark', {
        'supply-fuse': 0.02,
        latched: 0.5,
        speaker: 0.97,
        joint: 0.9,
        knob: 0.97,
      }),
    },
    {
      ...action,
      id: 'knob-feel',
      name: 'Turn the knob',
      how: ['Unplugged, turn it from end to end.'],
      access: 'outside',
      minutes: 1,
      ask: 'Does it turn all the way?',
      why: 'A loose knob turns nothing.',
      power: 'off',
      outcomes: outcomes('it turns', 'it is stuck', { knob: 0.1, latched: 0.9, speaker: 0.9, joint: 0.9 }),
    },
    {
      ...action,
      id: 'lead-look',
      name: 'Look at the speaker lead',
      how: ['Look where the lead is plugged in.'],
      access: 'back-off',
      minutes: 2,
      ask: 'Is the plug off?',
      why: 'It may have come off.',
      power: 'off',
      hazards: [charge],
      outcomes: outcomes('it is off', 'it is in its place', { 'speaker-lead': 0.8 }),
    },
    {
      ...action,
      id: 'speaker-ohms',
      name: 'Measure the speaker',
      how: ['Take one end of the lead off and measure.'],
      access: 'back-off',
      minutes: 3,
      ask: 'How many ohms does it show?',
      why: 'A broken coil has no way through.',
      power: 'off',
      hazards: [charge],
      reading: {
        unit: 'ohm',
        min: 0,
        max: 10_000,
        meter: 0.01,
        outliers: 0.03,
        expect: {
          speaker: { from: 100, to: 10_000, share: 1 },
          otherwise: { at: 8, within: 2, share: 1 },
        },
        bands: [
          { id: 'good', label: 'Under 50 ohm', below: 50 },
          { id: 'broken', label: '50 ohm or more' },
        ],
      },
    },
    {
      ...action,
      id: 'lead-off-look',
      name: 'Sound without the tape lead',
      how: ['Pull the tape lead off, fold it away.'],
      access: 'back-off',
      minutes: 8,
      ask: 'With the back on and power on, is there sound?',
      why: 'It tells the speaker from all before it.',
      power: 'look',
      restore: 'Plug the tape lead in again.',
      hazards: [charge],
      when: { kind: ['solid', 'glass'] },
      outcomes: outcomes('there is sound', 'it stays silent', { joint: 0.6, knob: 0.6 }),
    },
    {
      ...action,
      id: 'rail',
      name: 'Measure the 12 V rail',
      how: ['Clips on while it is dead.', 'Then plug it in.'],
      access: 'back-off',
      minutes: 6,
      ask: 'What does the meter show?',
      why: 'Without its rail nothing plays.',
      power: 'on',
      bites: 'the mains inlet and the big can',
      hazards: [charge],
      reading: {
        unit: 'V',
        current: 'dc',
        min: 0,
        max: 30,
        meter: 0.01,
        outliers: 0.03,
        expect: {
          'big-can-dry': { from: 4, to: 10, share: 1 },
          'supply-fuse': { at: 0, within: 0.4, share: 1 },
          otherwise: { at: 12, within: 0.6, share: 1 },
        },
        bands: [
          { id: 'none', label: 'Under 2 V', below: 2 },
          { id: 'low', label: '2 to 11 V', below: 11 },
          { id: 'good', label: '11 V or more' },
        ],
      },
    },
    {
      ...action,
      id: 'ripple',
      name: 'Measure the ripple',
      how: ['Clips on while it is dead.', 'Then plug it in.'],
      access: 'chassis-out',
      minutes: 6,
      least: 'trained',
      ask: 'Does the meter show more than 1 V a.c.?',
      why: 'A dry can lets the hum through.',
      power: 'on',
      bites: 'the whole underside of the chassis',
      hazards: [charge],
      needs: [
        { check: 'rail', outcome: 'good' },
        { check: 'rail', outcome: 'low' },
      ],
      outcomes: outcomes('it ripples', 'it is steady', { 'big-can-dry': 0.9 }),
    },
    {
      ...action,
      id: 'joint-look',
      name: 'Look at the joints',
      how: ['Light from the side shows cracks.'],
      access: 'chassis-out',
      minutes: 5,
      ask: 'Is one of them cracked?',
      why: 'A crack opens when it is warm.',
      power: 'off',
      hazards: [charge],
      outcomes: outcomes('one is cracked', 'all are whole', { joint: 0.8 }),
    },
  ]),
  remedies: sourced<Remedy>([
    {
      ...remedy,
      id: 'settings',
      name: 'Set volume and band',
      how: ['Turn both knobs.'],
      access: 'outside',
      minutes: 2,
      cures: { knob: 0.5, latched: 0.05 },
      times: 2,
    },
    {
      ...remedy,
      id: 'drain',
      name: 'Let all charge drain',
      how: ['Pull the plug.', 'Hold the button for 15 s.'],
      access: 'outside',
      minutes: 2,
      wait_minutes: 30,
      cures: { latched: 0.95 },
    },
    {
      ...remedy,
      id: 'reseat',
      name: 'Seat the speaker lead',
      how: ['Off and on again.'],
      access: 'back-off',
      minutes: 3,
      hazards: [charge],
      cures: { 'speaker-lead': 0.95 },
    },
    {
      ...remedy,
      id: 'new-speaker',
      name: 'Fit another speaker',
      how: ['Four nuts.'],
      access: 'back-off',
      minutes: 12,
      hazards: [charge],
      cures: { speaker: 0.95 },
      alone: true,
      part: { name: 'Speaker', match: ['The same ohms.'], price },
      afterwards: 'Not full volume on the first day.',
    },
    {
      ...remedy,
      id: 'new-fuse',
      name: 'Fit another fuse',
      how: ['The same kind.'],
      access: 'back-off',
      minutes: 4,
      hazards: [charge],
      cures: { 'supply-fuse': 0.9 },
      part: { name: 'Fuse', match: ['The same numbers.'], price },
    },
    {
      ...remedy,
      id: 'solder',
      name: 'Solder the joint',
      how: ['Heat it until it flows.'],
      access: 'chassis-out',
      minutes: 15,
      least: 'trained',
      hazards: [charge],
      cures: { joint: 0.9 },
    },
    {
      ...remedy,
      id: 'new-can',
      name: 'Fit another big can',
      how: ['Mind plus and minus.'],
      access: 'chassis-out',
      minutes: 25,
      hazards: [charge],
      cures: { 'big-can-dry': 0.95 },
      alone: true,
      part: { name: 'Capacitor', match: ['The same microfarads.'], price },
    },
  ]),
  sheet: [
    'settings',
    'drain',
    'dial-lamp',
    'knob-feel',
    'lead-look',
    'reseat',
    'speaker-ohms',
    'new-speaker',
    'new-fuse',
    'lead-off-look',
    'rail',
    'ripple',
    'joint-look',
    'solder',
    'new-can',
  ],
  map: { width: 10, height: 10, parts: [], leads: [] },
  replace: { price: { ...price, low: 900, high: 1100 }, say: 'A radio like yours.' },
  closing: ['All screws are back.'],
  references: [],
});

export const community: Community = Community.parse({
  name: 'The Larkholm Bench',
  country: { code: 'GBR', mains_volts: 230, emergency: '112', plug: 'Pull it.', fuses: 'None.' },
  currency: 'GBP',
  hour: 6,
  // Dear people and dear radios: the plan stays with the person as long as it can.
  referral: 400,
  people: [{ name: 'The Larkholm Bench', what: 'Volunteers' }],
});

/** A small budget: the conversation is what is looked at, not the plan. */
export const settings: Settings = { community, budget: 20_000 };

const person = (id: string, more: Partial<Person> = {}): Person => ({ id, name: id, roles: [], ...more });

export const people = {
  /** Nobody vouches for the asker. */
  asker: person('asker'),
  mender: person('mender', { level: 'trained', roles: ['mender'] }),
  moderator: person('moderator', { level: 'handy', roles: ['moderator'] }),
  stranger: person('stranger'),
} as const;

/** The same radio, with what is tested before it goes home. */
export const testedRadio: Flow = {
  ...radio,
  protection: { classes: [1, 2], function: 'It plays for a while.', source: invented },
};

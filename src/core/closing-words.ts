import type { Answer, Case, SafetyTest } from '../../shared/case.ts';
import type { Flow, Protection } from '../../shared/flow.ts';
import type { Ask } from '../../shared/outbound.ts';
import { classOf, closingOf, limitsFor, testsOf } from './closing.ts';
import type { Practice } from './closing-limits.ts';
import type { Settings } from './settings.ts';

/** The questions of the closing tests, and what they came to, in words. */

type Body = Pick<Ask, 'phase' | 'title' | 'hazards' | 'how' | 'question' | 'choices'> &
  Partial<Pick<Ask, 'tools' | 'minutes' | 'reading' | 'notes'>>;

const title = 'Before it goes home';
const choice = (id: string, label: string) => ({ id, label });
const passOrFail = [
  choice('passed', 'My tester only says: pass'),
  choice('failed', 'My tester only says: fail'),
];

const practiceWords: Readonly<Record<Practice, string>> = {
  en: 'Limits of EN 50678, tests after repair. Where your local rules ask for more, they count.',
  uk: 'Limits of the British code of practice for in-service tests. Where local rules ask for more, they count.',
};

export function closingBody(test: SafetyTest, kase: Case, flow: Flow, settings: Settings): Body {
  const protection = flow.protection as Protection;
  const told = testsOf(kase);
  const limits = limitsFor(protection, told, settings.community);
  const base = { phase: 'safety' as const, hazards: [], how: [] as string[], minutes: 1 };
  const notes = [practiceWords[limits.practice]];
  switch (test) {
    case 'tester':
      return {
        ...base,
        title,
        how: [
          `Your ${flow.noun} works again, and it was open. So it is tested before it goes back into use.`,
          'It takes an appliance tester and somebody who has learnt to use it. An ordinary multimeter is not enough.',
        ],
        question: 'Is somebody here who can test it now?',
        choices: [
          choice('here', 'Yes, we test it now'),
          choice('none', 'No, there is no tester or nobody for it'),
        ],
      };
    case 'class':
      return {
        ...base,
        title: `${title}: its class`,
        how: [
          'Read the plate. A square within a square means class II: double insulated, no earth.',
          'No square, and a plug or lead with an earth: class I.',
        ],
        question: 'Which class is it?',
        choices: protection.classes.map((one) => choice(String(one), classWords[one])),
      };
    case 'visual':
      return {
        ...base,
        title: `${title}: look it over`,
        how: [
          ...flow.closing.slice(0, 8),
          'Lead, plug and cord grip are whole. The plug’s fuse, if it has one, is the right one.',
          'No cover is missing, no screw is loose, no hole lets a finger in.',
        ].slice(0, 12),
        question: 'Is all of that in order?',
        choices: [choice('passed', 'Yes, all of it'), choice('failed', 'No, something is not')],
        minutes: 3,
      };
    case 'lead':
      return {
        ...base,
        title: `${title}: its lead`,
        question: 'How long is the mains lead?',
        choices: [choice('2', 'Up to 2 m'), choice('5', 'Up to 5 m'), choice('12.5', 'Longer, up to 12.5 m')],
      };
    case 'earth':
      return {
        ...base,
        title: `${title}: earth`,
        hazards: [
          { word: 'NOTICE', text: 'Plug into the tester, not into the wall. It stays switched off.' },
        ],
        how: [
          'Measure from the earth pin of the plug to bare metal that a hand can touch. Move the lead meanwhile.',
          `It passes with ${limits.earth} ohm or less.`,
        ],
        question: 'What does the tester show, in ohm?',
        choices: passOrFail,
        reading: { unit: 'ohm', example: '0.12 ohm' },
        tools: ['appliance tester'],
        minutes: 2,
        notes,
      };
    case 'insulation':
      return {
        ...base,
        title: `${title}: insulation`,
        hazards: [
          {
            word: 'WARNING',
            text: 'The tester puts 500 V on the plug’s pins. A touch could injure you. Hands off until it is done.',
          },
        ],
        how: [
          'The appliance’s own switch is on. Measure from both live pins together to the earth pin, or to bare metal and wrapped foil.',
          'Use 500 V d.c., or 250 V if surge protection is built in.',
          `It passes with ${limits.insulation} Mohm or more.`,
        ],
        question: 'What does the tester show, in Mohm?',
        choices: passOrFail,
        reading: { unit: 'Mohm', example: '20 Mohm' },
        tools: ['appliance tester'],
        minutes: 2,
        notes,
      };
    case 'function':
      return {
        ...base,
        title: `${title}: does it work`,
        hazards: [
          {
            word: 'WARNING',
            text: 'Only now power comes on, with every cover on. Through a residual-current device, if there is one.',
          },
        ],
        how: [protection.function],
        question: 'Did it do all of that, without smell, sparks or a strange noise?',
        choices: [choice('passed', 'Yes'), choice('failed', 'No')],
        minutes: 3,
      };
    default:
      return test satisfies never;
  }
}

export const classWords = {
  1: 'Class I: it has an earth',
  2: 'Class II: double insulated, with the double square',
  3: 'Class III: it runs on low voltage from its own supply',
} as const;

type Told = Extract<Answer, { kind: 'safety-tested' }>;

export function testWords({ test, result, value }: Told): string {
  const passed = result === 'passed' ? 'passed' : 'failed';
  switch (test) {
    case 'tester':
      return result === 'here'
        ? 'Electrical test: somebody is here for it'
        : 'Electrical test: nobody is here for it';
    case 'class':
      return `Class of protection: ${result}`;
    case 'lead':
      return `Mains lead: up to ${result} m`;
    case 'visual':
      return `Looked over: ${passed}`;
    case 'earth':
      return `Earth: ${result === 'measured' && value !== null ? `${value} ohm` : result === 'over' ? 'no connection' : passed}`;
    case 'insulation':
      return `Insulation: ${result === 'measured' && value !== null ? `${value} Mohm` : result === 'over' ? 'more than the tester can show' : passed}`;
    case 'function':
      return `Run and watched: ${passed}`;
    default:
      return test satisfies never;
  }
}

/** For the job card and the end: whether it may go back into use. Empty where no test was called for. */
export function closingLines(kase: Case, flow: Flow, settings: Settings): string[] {
  const { state } = closingOf(kase, flow, settings.community);
  const { protection } = flow;
  if (state === 'none' || !protection) return [];
  const told = testsOf(kase);
  const { earth, insulation, practice } = limitsFor(protection, told, settings.community);
  const measured = [...told.values()].filter(({ test }) => test !== 'tester').map(testWords);
  const limits = `Limits used: ${classOf(protection, told) === 1 ? `earth ${earth} ohm or less, ` : ''}insulation ${insulation} Mohm or more. ${practiceWords[practice]}`;
  switch (state) {
    case 'passed':
      return ['Passed its electrical test.', ...measured, limits];
    case 'failed':
      return ['**Failed its electrical test: it does not go home in use.**', ...measured, limits];
    default:
      return [
        '**Electrical test not done.** It was open, and nobody has measured whether it is safe to use.',
        ...measured,
      ];
  }
}

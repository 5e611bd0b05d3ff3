import type { Question } from '../../shared/case.ts';
import type { Community } from '../../shared/community.ts';
import type { Ask } from '../../shared/outbound.ts';
import { RedFlag } from '../../shared/red-flag.ts';

/** What is said at a red flag: the one instruction that matters first. */
interface FlagWords {
  readonly name: string;
  readonly ask: string;
  readonly instruction: string;
  readonly after: string;
}

const unplugIfSafe =
  'If you can reach the plug or the breaker safely, switch it off there. Do not touch the appliance.';

export const flagWords: Readonly<Record<RedFlag, FlagWords>> = {
  smoke: {
    name: 'smoke',
    ask: 'Did smoke come out of it?',
    instruction: unplugIfSafe,
    after:
      'Keep away and air the room. If there are flames or the smoke goes on, leave the room, close the door and call {emergency}.',
  },
  flames: {
    name: 'flames',
    ask: 'Did it burn?',
    instruction: 'Get everybody out and call {emergency}.',
    after:
      'Close the door behind you. No water on anything that is plugged in. Only cut the power if you pass the switch on the way out.',
  },
  bang: {
    name: 'a bang',
    ask: 'Was there a bang from it?',
    instruction: unplugIfSafe,
    after: 'Leave it off. Something inside has burst; do not switch it on again to try.',
  },
  sparks: {
    name: 'sparks',
    ask: 'Did you see sparks?',
    instruction: unplugIfSafe,
    after: 'Leave it off, and do not use that socket until somebody has looked at it.',
  },
  'burning-smell': {
    name: 'a burning smell',
    ask: 'Did it smell of burning or hot plastic?',
    instruction: unplugIfSafe,
    after:
      'Leave it off and stay with it until it is cold. If it gets stronger or you see smoke, leave and call {emergency}.',
  },
  shock: {
    name: 'an electric shock',
    ask: 'Did somebody get an electric shock?',
    instruction: 'Do not touch anybody who is still in contact: cut the power first. Then call {emergency}.',
    after:
      'After any shock a doctor should have a look the same day, even when you feel well. Leave the appliance off.',
  },
  tripping: {
    name: 'a breaker or fuse that trips',
    ask: 'Does the breaker, the fuse or the residual-current device trip?',
    instruction: 'Leave it unplugged, and do not reset the breaker again with it plugged in.',
    after: 'If the breaker trips with nothing plugged in, that is for a licensed electrician.',
  },
  water: {
    name: 'water or another liquid in it',
    ask: 'Did water or another liquid get into it?',
    instruction: 'Do not touch it. Cut the power at the breaker, then pull the plug with dry hands.',
    after: 'Do not switch it on to see whether it still works.',
  },
  battery: {
    name: 'a swollen or hot battery',
    ask: 'Is a battery in it swollen, hot, leaking or dented?',
    instruction: 'Stop charging it. Do not press, bend or open it.',
    after:
      'If it can be done safely, put it outside on stone, away from anything that burns. If it smokes or hisses, keep away and call {emergency}.',
  },
  gas: {
    name: 'a smell of gas',
    ask: 'Do you smell gas?',
    instruction: 'Leave the building now. Touch no switch, light no flame. Call {emergency} from outside.',
    after: 'Turn the gas off at the meter only if it is on your way.',
  },
  hurt: {
    name: 'somebody hurt',
    ask: 'Is somebody hurt?',
    instruction: 'Look after the person first. Call {emergency} if you are not sure.',
    after: 'The appliance can wait. Leave it off.',
  },
};

export const withEmergency = (words: string, community: Community): string =>
  words.replaceAll('{emergency}', community.country.emergency);

/** In doubt: asked, and nothing else goes on until it is answered. Step `which`: the button was tapped, name the sign. */
export function flagQuestion(
  question: Question,
): Pick<Ask, 'phase' | 'title' | 'hazards' | 'how' | 'question' | 'choices'> {
  const flag = RedFlag.safeParse(question.step);
  const base = {
    phase: 'flag' as const,
    title: 'Safety first',
    hazards: [],
    how: ['Leave it switched off for now.'],
  };
  if (!flag.success) {
    return {
      ...base,
      question: 'What happened?',
      choices: [
        ...RedFlag.options.map((id) => ({ id, label: flagWords[id].name })),
        { id: 'no', label: 'Nothing like that' },
      ],
    };
  }
  return {
    ...base,
    question: flagWords[flag.data].ask,
    choices: [
      { id: 'yes', label: 'Yes' },
      { id: 'no', label: 'No, nothing like that' },
    ],
  };
}

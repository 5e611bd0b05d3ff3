import type { Case, Question, SafetyTest } from '../../shared/case.ts';
import type { Check, Flow, Hazard, Remedy } from '../../shared/flow.ts';
import type { Ask, OfferedChoice, PlanFigures } from '../../shared/outbound.ts';
import { applianceBody, mayBeAnother } from './appliance.ts';
import { closingBody } from './closing-words.ts';
import { pathTo } from './demand.ts';
import { energyWords } from './energy-words.ts';
import { flagQuestion } from './flag-words.ts';
import { orderOf, timesAsked, wasChased } from './follow-up.ts';
import { afterBody, overBody, quietChoice } from './follow-up-words.ts';
import { pendingOf } from './history.ts';
import { sums } from './reckon/reckon.ts';
import { dischargedBelow } from './safety.ts';
import { priceIn, type Settings } from './settings.ts';
import { inline, listWords, minutesWords, moneyWords, quoted } from './wording.ts';

/** A question of a case as a message: what to do, what it costs, what can hurt, and the answers. */

type Body = Pick<Ask, 'phase' | 'title' | 'hazards' | 'how' | 'question' | 'choices'> &
  Partial<Pick<Ask, 'tools' | 'minutes' | 'wait' | 'reading' | 'photo' | 'notes' | 'controls'>>;

const usual: Ask['controls'] = ['unsure', 'cannot', 'why', 'where', 'undo', 'person', 'stop'];

export const askMessage = (...asked: Parameters<typeof asking>): Ask => asking(...asked).ask;

/** The message, and which words of the glossary it explains for the first time in this case. */
export function asking(
  question: Question,
  kase: Case,
  flow: Flow,
  settings: Settings,
  plan: PlanFigures | null,
  notes: readonly string[],
): { ask: Ask; told: string[] } {
  const body = bodyOf(question, kase, flow, settings);
  const texts = [body.title, ...body.how, body.question].join(' ').toLowerCase();
  const told = newWords(flow, kase, texts);
  const ask: Ask = {
    kind: 'ask',
    key: question.key,
    step: question.step,
    number: kase.asked + 1,
    tools: [],
    minutes: 0,
    wait: 0,
    controls: usual,
    ...body,
    notes: [...told.map((word) => flow.glossary[word] as string), ...(body.notes ?? []), ...notes],
    ...(plan ? { plan } : {}),
  };
  return { ask, told };
}

/** What a question is called and what it offers, as the person sees it. */
export const shownOf = (
  question: Question,
  kase: Case,
  flow: Flow,
  settings: Settings,
): Pick<Ask, 'title' | 'question' | 'choices'> => bodyOf(question, kase, flow, settings);

export const titleOf = (question: Question, kase: Case, flow: Flow, settings: Settings): string =>
  shownOf(question, kase, flow, settings).title;

/** Words of the flow's glossary that stand in these texts and were not explained in this case before. */
function newWords(flow: Flow, kase: Case, texts: string): string[] {
  // A driver is not in a screwdriver: only whole words count, with their plural.
  const named = (word: string): boolean => {
    for (let at = texts.indexOf(word); at >= 0; at = texts.indexOf(word, at + 1)) {
      // Two code units hold any character.
      const before = texts.slice(Math.max(0, at - 2), at);
      const after = texts.slice(at + word.length, at + word.length + 3);
      if (!/[\p{L}\p{N}]$/u.test(before) && /^(?:s)?(?![\p{L}\p{N}])/u.test(after)) return true;
    }
    return false;
  };
  return Object.keys(flow.glossary).filter((word) => !kase.told.includes(word) && named(word.toLowerCase()));
}

/** What the desk asks by itself can also be answered by not wanting to be asked. */
function bodyOf(question: Question, kase: Case, flow: Flow, settings: Settings): Body {
  const body = ownBody(question, kase, flow, settings);
  const asked = question.kind === 'do' || question.kind === 'test' || question.kind === 'arrival';
  return asked && wasChased({ ...kase, question })
    ? { ...body, choices: [...body.choices, quietChoice] }
    : body;
}

function ownBody(question: Question, kase: Case, flow: Flow, settings: Settings): Body {
  switch (question.kind) {
    case 'appliance':
      return applianceBody(question, settings);
    case 'complaint':
      return complaintBody(question, kase, flow, mayBeAnother(kase, settings));
    case 'detail':
      return detailBody(question.step, flow);
    case 'level':
      return levelBody(flow);
    case 'meter':
      return meterBody(flow);
    case 'unplug':
      return unplugBody(flow);
    case 'wait':
      return waitBody(flow);
    case 'open':
      return openBody(question.step, flow);
    case 'prove':
      return proveBody(question.step, flow);
    case 'shut':
      return shutBody(kase, flow);
    case 'live':
      return liveBody(question.step, flow);
    case 'check':
      return checkBody(question.step, kase, flow);
    case 'part':
      return partBody(question.step, flow, settings);
    case 'arrival':
      return arrivalBody(question.step, kase, flow);
    case 'do':
      return doBody(question, kase, flow);
    case 'test':
      return testBody(kase, flow);
    case 'closing':
      return closingBody(question.step as SafetyTest, kase, flow, settings);
    case 'flag':
      return flagQuestion(question);
    case 'replace':
      return replaceBody(flow, settings);
    case 'follow-up':
      return afterBody(kase, flow);
    default:
      return question.kind satisfies never;
  }
}

const choice = (id: string, label: string): OfferedChoice => ({ id, label });

function complaintBody(question: Question, kase: Case, flow: Flow, another: boolean): Body {
  const offered = question.offered ?? [];
  const changed = kase.answers.some((a) => a.kind === 'complaint-stated');
  const single = offered.length === 1;
  return {
    phase: 'intake',
    title: 'What is wrong',
    hazards: [],
    how: [],
    question: changed
      ? `What does your ${flow.noun} do now?`
      : single
        ? 'Do I understand you right?'
        : `Which of these comes closest to what your ${flow.noun} does?`,
    choices: [
      ...flow.complaints.filter((c) => offered.includes(c.id)).map((c) => choice(c.id, c.label)),
      choice('other', single ? 'No, something else' : 'None of these'),
      ...(another ? [choice('another', 'It is another appliance')] : []),
      choice('danger', 'Smoke, sparks, a bang, a shock, or a burning smell'),
    ],
  };
}

function detailBody(id: string, flow: Flow): Body {
  const detail = flow.details.find((d) => d.id === id);
  if (!detail) return unknownStep(id);
  return {
    phase: 'intake',
    title: 'About the appliance',
    hazards: [],
    how: detail.how ?? [],
    question: detail.ask,
    choices: detail.choices.map((c) => choice(c.id, c.label)),
    minutes: 1,
  };
}

function levelBody(flow: Flow): Body {
  return {
    phase: 'safety',
    title: 'Before anything is opened',
    hazards: [
      {
        word: 'WARNING',
        text: `Inside your ${flow.noun} there can be voltages that kill, even when it is unplugged. Nobody expects you to open it.`,
      },
    ],
    how: [],
    question: 'Have you worked inside mains-powered things before?',
    choices: [
      choice('new', 'No, or I would rather not'),
      choice('handy', 'Yes, unplugged, and I can use a multimeter'),
    ],
  };
}

function meterBody(flow: Flow): Body {
  const why =
    flow.energy.stores === 'capacitors'
      ? 'Without one, nobody can tell whether it still holds a charge.'
      : '';
  return {
    phase: 'safety',
    title: 'Before anything is opened',
    hazards: [],
    how: [],
    question:
      `Do you have a multimeter here that measures volts d.c. (the V with a straight line)? ${why}`.trim(),
    choices: [choice('yes', 'Yes'), choice('no', 'No')],
  };
}

function unplugBody(flow: Flow): Body {
  const wait = flow.energy.stores === 'none' ? 0 : flow.energy.wait_minutes;
  if (!flow.mains) return powerlessBody(flow, wait);
  return {
    phase: 'safety',
    title: 'Out of the wall',
    hazards: [
      {
        word: 'DANGER',
        text: 'Mains voltage kills. A switch is not enough: the plug has to be out of the wall.',
      },
    ],
    how: [
      'Pull the plug out of the wall socket.',
      'Lay the plug where you can see it while you work.',
      'Take out every other lead too: aerial, boxes, network.',
    ],
    question:
      wait > 0
        ? `Is the plug out and in sight? I then wait ${wait} min with you.`
        : 'Is the plug out and in sight?',
    choices: [choice('unplugged', 'Yes, the plug is out and I can see it')],
    minutes: 1,
    wait,
  };
}

/** Without a mains plug of its own: it may hang on a charger all the same. */
function powerlessBody(flow: Flow, wait: number): Body {
  return {
    phase: 'safety',
    title: 'Off, and no charger',
    hazards: [
      {
        word: 'WARNING',
        text: 'A battery goes on giving current. With the charger in, there is more. Both can burn you or start a fire.',
      },
    ],
    how: [
      `Switch your ${flow.noun} off. Take the charger and every other lead out.`,
      'Take the battery out, if it comes out without tools.',
    ],
    question:
      wait > 0
        ? `Is it off, with no lead in it? I then wait ${wait} min with you.`
        : 'Is it off, with no lead in it?',
    choices: [choice('unplugged', 'Yes, it is off and nothing is plugged in')],
    minutes: 1,
    wait,
  };
}

function waitBody(flow: Flow): Body {
  return {
    phase: 'safety',
    title: energyWords[flow.energy.stores].waiting,
    hazards: [],
    how: [],
    question: `Leave your ${flow.noun} unplugged. I come back when the time is over.`,
    choices: [],
  };
}

function openBody(id: string, flow: Flow): Body {
  const stage = flow.access.find((access) => access.id === id);
  if (!stage) return unknownStep(id);
  const first = pathTo(flow, id).length === 1;
  const stores = flow.energy.stores !== 'none' && first;
  return {
    phase: 'open',
    title: `Open: ${inline(stage.name)}`,
    hazards: stores
      ? [energyWords[flow.energy.stores].openHazard, ...gravest(stage.hazards)]
      : gravest(stage.hazards),
    how: stage.open.how,
    question: stores
      ? 'Is it open, and have you touched nothing inside?'
      : first
        ? 'Is it open?'
        : 'Is it done?',
    choices: [choice('opened', first ? 'Yes, it is open' : 'Yes, done')],
    tools: stage.tools,
    minutes: stage.open.minutes,
    ...(stage.people > 1 ? { notes: [`This needs ${stage.people} people.`] } : {}),
  };
}

/** Where the meter goes, in order: a known source, every point of the flow, the known source again. */
export function proofPoints(flow: Flow): string[] {
  switch (flow.energy.stores) {
    case 'none':
      return [];
    case 'capacitors':
      return ['known-source-before', ...flow.energy.points.map((point) => point.id), 'known-source-after'];
    default:
      return flow.energy.proof.map((point) => point.id);
  }
}

function proveBody(point: string, flow: Flow): Body {
  if (flow.energy.stores !== 'none' && flow.energy.stores !== 'capacitors') {
    const proof = flow.energy.proof.find((p) => p.id === point);
    const { proof: title, proofHazard: hazard } = energyWords[flow.energy.stores];
    return proof
      ? {
          phase: 'safety',
          title,
          hazards: [hazard],
          how: [proof.how],
          question: `${proof.name}: is it done?`,
          choices: [choice('done', 'Yes, done')],
        }
      : unknownStep(point);
  }
  const hazards: Hazard[] = [
    {
      word: 'DANGER',
      text: 'Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.',
    },
  ];
  const { proof: title } = energyWords.capacitors;
  if (point === 'known-source-before' || point === 'known-source-after') {
    const again = point === 'known-source-after';
    return {
      phase: 'safety',
      title,
      hazards: again ? hazards : [],
      how: [
        'Meter on volts d.c. (V with a straight line). Red lead in the socket marked V, black in COM.',
        again
          ? 'Measure the same battery as before.'
          : 'Measure a battery that is good: a fresh AA shows about 1.5 V, a 9 V block about 9 V.',
      ],
      question: again
        ? 'What does it show now? This proves that the meter still works.'
        : 'What does it show? This proves that the meter works before we trust a zero.',
      choices: [],
      tools: ['multimeter', 'a good battery'],
      reading: { unit: 'V', current: 'dc', example: '1.55 V' },
      minutes: 1,
    };
  }
  const place =
    flow.energy.stores === 'capacitors' ? flow.energy.points.find((p) => p.id === point) : undefined;
  if (!place) return unknownStep(point);
  return {
    phase: 'safety',
    title: `${title}: ${place.name}`,
    hazards,
    how: [place.how],
    question: `What does the meter show? I need less than ${dischargedBelow} V.`,
    choices: [],
    tools: ['multimeter'],
    reading: { unit: 'V', current: 'dc', example: '0.2 V' },
    minutes: 1,
  };
}

function shutBody(kase: Case, flow: Flow): Body {
  const { open, lost } = kase.world;
  const stages = flow.access.filter((access) => open.includes(access.id)).reverse();
  return {
    phase: 'safety',
    title: 'Close it before power comes back',
    hazards: [
      { word: 'WARNING', text: 'Do not plug it in while it is open. With power, parts inside are live.' },
    ],
    how: [
      ...stages.flatMap((stage) => stage.close.how).slice(0, 12),
      ...(lost.length > 0
        ? [`Put back whatever else was taken off or out, too: ${listWords(lost.map(quoted))}.`]
        : []),
    ],
    question: 'Is everything back on and closed? Leave it unplugged for now.',
    choices: [choice('shut', 'Yes, it is closed')],
    minutes: stages.reduce((sum, stage) => sum + stage.close.minutes, 0),
  };
}

function liveBody(id: string, flow: Flow): Body {
  const step = flow.checks.find((check) => check.id === id);
  return {
    phase: 'safety',
    title: `Live work: ${step?.name ?? id}`,
    hazards: [
      {
        word: 'DANGER',
        text: step?.bites ?? 'Parts inside are live and can kill.',
      },
    ],
    how: [
      'Somebody else is in the room and knows where the switch is.',
      'The supply goes through a residual-current device of 30 mA.',
      'Meter and leads are made for it: CAT II 600 V or better, probes with guards.',
      'Clips go on while it is dead and proven; only then is it plugged in.',
      'One hand behind your back. No rings, no watch, dry floor.',
    ],
    question: 'This step is measured with power on. Do you say yes to it, with all five points true?',
    choices: [
      choice('agreed', 'Yes, all five are true and I will do it'),
      choice('not-agreed', 'No, not this step'),
    ],
  };
}

function common(
  step: Check | Remedy,
  kase: Case,
  flow: Flow,
): Pick<Body, 'hazards' | 'how' | 'tools' | 'notes'> {
  const altered = kase.world.altered;
  const inside = step.access !== 'outside';
  const restore = inside && altered !== null ? restoring(altered, flow) : undefined;
  const bites: Hazard[] =
    step.bites === undefined ? [] : [{ word: 'DANGER', text: `What can bite: ${step.bites}` }];
  return {
    hazards: gravest([...bites, ...step.hazards]),
    how: restore ? [restore, ...step.how] : step.how,
    tools: step.tools,
    notes: [
      ...(step.people > 1 ? [`This needs ${step.people} people.`] : []),
      ...('reckon' in step && step.reckon
        ? [`I can do the sum. Write, for example: reckon ${sums[step.reckon].example}`]
        : []),
    ],
  };
}

/** How to put right what a look left changed; where the flow no longer has that look, at least that it is to be done. */
export function restoring(altered: string, flow: Flow): string | undefined {
  const look = flow.checks.find((check) => check.id === altered);
  return look ? look.restore : `Put back what was changed for ${quoted(altered)}.`;
}

const gravity: readonly Hazard['word'][] = ['DANGER', 'WARNING', 'CAUTION', 'NOTICE'];

/** What kills comes before what cuts, in whatever order a flow tells it. */
const gravest = (hazards: readonly Hazard[]): Hazard[] =>
  [...hazards].sort((a, b) => gravity.indexOf(a.word) - gravity.indexOf(b.word));

/** After the change inside: shut, power, look, unplug. The same words for every appliance, so that none is left out. */
const fromTheFront = ({ hazards, how }: Pick<Body, 'hazards' | 'how'>): Pick<Body, 'hazards' | 'how'> => ({
  hazards: gravest([
    ...hazards,
    { word: 'WARNING', text: 'No power while it is open: every cover goes back on first.' },
  ]),
  how: [
    ...how,
    'Put every cover back on and screw it down.',
    'Only then plug it in, switch it on, and look from the front.',
    'Pull the plug out again and leave it out.',
  ],
});

function checkBody(id: string, kase: Case, flow: Flow): Body {
  const check = flow.checks.find((step) => step.id === id);
  if (!check) return unknownStep(id);
  const choices = check.reading ? check.reading.bands : (check.outcomes ?? []);
  const body = common(check, kase, flow);
  return {
    phase: kase.again === id ? 'again' : 'check',
    title: check.name,
    ...body,
    ...(check.power === 'look' ? fromTheFront(body) : {}),
    question: check.ask,
    choices: choices.map((c) => choice(c.id, c.label)),
    minutes: check.minutes,
    wait: check.wait_minutes,
    ...(check.reading
      ? {
          reading: {
            unit: check.reading.unit,
            ...(check.reading.current ? { current: check.reading.current } : {}),
            example: check.reading.unit === 'V' ? '4.97 V' : `12 ${check.reading.unit}`,
          },
        }
      : {}),
    ...(check.photo ? { photo: check.photo } : {}),
  };
}

function partBody(id: string, flow: Flow, settings: Settings): Body {
  const remedy = flow.remedies.find((step) => step.id === id);
  if (!remedy?.part) return unknownStep(id);
  const { part } = remedy;
  const price = moneyWords(priceIn(settings.community, part.price), settings.community);
  return {
    phase: 'part',
    title: `The right part: ${part.name}`,
    hazards: [],
    how: part.match,
    question: `Expect about ${price} (prices seen ${part.price.dated}). Buy nothing before the numbers match. How does it stand?`,
    choices: [
      choice('have', 'It matches and I have it here'),
      choice('ordered', 'It matches and I ordered it'),
      choice('too-dear', 'Too dear for me'),
      choice('not-found', 'I cannot find the right one'),
    ],
    minutes: 5,
  };
}

function arrivalBody(id: string, kase: Case, flow: Flow): Body {
  const remedy = flow.remedies.find((step) => step.id === id);
  // It was ordered just now: nobody wants to be asked in the same breath whether it has come.
  const early = kase.rest?.key === `part:${id}` || timesAsked(kase, orderOf(kase, id)) === 0;
  return {
    phase: 'part',
    title: `The part: ${remedy?.part?.name ?? id}`,
    hazards: [],
    how: [],
    question: early
      ? 'Answer this when it is here. Are its numbers the same as on the old one?'
      : 'Is it here, and are its numbers the same as on the old one?',
    choices: [
      choice('arrived', 'Yes, it is here and it matches'),
      choice('not-yet', 'Not here yet'),
      choice('wrong-part', 'It is the wrong one'),
    ],
  };
}

export const worksChoices: readonly OfferedChoice[] = [
  choice('works', 'Yes, it works'),
  choice('no', 'No, as before'),
  choice('different', 'No, but it is different now'),
];

/** A remedy outside without a wait is tried in the same breath. */
export const triedAtOnce = (remedy: Remedy): boolean =>
  remedy.access === 'outside' && remedy.wait_minutes === 0;

function doBody({ step: id, key, inside }: Question, kase: Case, flow: Flow): Body {
  const remedy = flow.remedies.find((step) => step.id === id);
  if (!remedy) return unknownStep(id);
  if (inside && timesAsked(kase, key) > 0) return overBody(remedy.name, [choice('done', 'Yes, done')]);
  return {
    phase: 'do',
    title: remedy.name,
    ...common(remedy, kase, flow),
    question: triedAtOnce(remedy)
      ? 'Does it work now?'
      : remedy.wait_minutes > 0
        ? `Is it waiting now? I keep the time (${minutesWords(remedy.wait_minutes)}) and come back.`
        : 'Is it done?',
    choices: triedAtOnce(remedy)
      ? [...worksChoices]
      : [choice('done', remedy.wait_minutes > 0 ? 'Yes, it is waiting now' : 'Yes, done')],
    minutes: remedy.minutes,
    wait: remedy.wait_minutes,
  };
}

function testBody(kase: Case, flow: Flow): Body {
  const done = pendingOf(kase).map((id) => flow.remedies.find((step) => step.id === id) ?? id);
  const names = done.map((one) => (typeof one === 'string' ? one : one.name));
  const opened = done.some((one) => typeof one === 'string' || one.access !== 'outside');
  return {
    phase: 'test',
    title: 'Does it work now?',
    hazards: [],
    how: [
      ...(opened ? ['Check that everything is closed.'] : []),
      'Plug it straight into the wall and switch it on.',
      'Give it a minute.',
    ],
    question: names.length > 0 ? `After “${names.join('” and “')}”: does it work now?` : 'Does it work now?',
    choices: [...worksChoices],
    minutes: 2,
  };
}

function replaceBody(flow: Flow, settings: Settings): Body {
  const price = moneyWords(priceIn(settings.community, flow.replace.price), settings.community);
  return {
    phase: 'choice',
    title: 'Repair or replace',
    hazards: [],
    how: [],
    question: `${flow.replace.say} A comparable one costs about ${price} (prices seen ${flow.replace.price.dated}). What would you like?`,
    choices: [
      choice('recycle', 'Let it go, and recycle it'),
      choice('people', 'Let people have a look first'),
    ],
  };
}

function unknownStep(id: string): Body {
  return {
    phase: 'check',
    title: id,
    hazards: [],
    how: [],
    question: `This flow has no step ${id}.`,
    choices: [],
  };
}

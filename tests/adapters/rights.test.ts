import { afterEach, describe, expect, test } from 'vitest';
import type { Event } from '../../shared/case.ts';
import type { Earlier } from '../../src/core/settings.ts';
import { later } from '../platforms/slack-server.ts';
import { openStage as openDiscord } from './discord/stage.ts';
import { openStage as openSlack } from './slack/stage.ts';

/** Every act of menders, by everybody, on both platforms: by command, by button, and with a form that somebody else was given. */

type Who = 'owner' | 'stranger' | 'mender' | 'moderator';
const whos: readonly Who[] = ['owner', 'stranger', 'mender', 'moderator'];

interface Act {
  readonly name: string;
  readonly label: string;
  /** What the form is filled in with; absent: it takes none. */
  readonly form?: Readonly<Record<string, string>>;
  /** The event it leaves behind, and how many of them where it is not one. */
  readonly event: Event['kind'];
  readonly times?: number;
  readonly by: readonly Who[];
}

const both: readonly Who[] = ['mender', 'moderator'];
const acts: readonly Act[] = [
  { name: 'take', label: 'I take it on', event: 'taken', by: both },
  {
    name: 'advise',
    label: 'Advise',
    form: { 'Your words, into the thread': 'Try another socket' },
    event: 'advised',
    by: both,
  },
  {
    name: 'result',
    label: 'Add a result',
    form: { 'What was checked': 'Look at the dial lamp', 'What was seen or measured': 'Yes, it glows' },
    event: 'answered',
    by: both,
  },
  {
    name: 'correct',
    label: 'Correct an answer',
    form: { 'Which one': 'Look at the dial lamp: No, it stays dark', 'What is right': 'Yes, it glows' },
    event: 'undone',
    by: ['moderator'],
  },
  {
    name: 'clear',
    label: 'Clear one tier',
    form: {
      'For whoever has it': 'Inside, unplugged and proven discharged',
      'Why; it stays with the case': 'we talked',
    },
    event: 'cleared',
    by: ['moderator'],
  },
  {
    name: 'safety',
    label: 'Electrical test',
    form: {
      'Class of protection': 'Class II: double insulated, with the double square',
      'Looked over: lead, plug, fuse, covers': 'Passed',
      'Insulation, Mohm': '20',
      'Run and watched': 'Passed',
    },
    event: 'safety-tested',
    times: 5,
    by: both,
  },
  { name: 'back', label: 'Back to the bot', event: 'handed-back', by: both },
  { name: 'settle', label: 'Settle', form: { 'How it ended': 'Fixed' }, event: 'settled', by: both },
];

const earlier: Earlier = () => [
  {
    outcome: 'Fixed',
    barrier: null,
    safety: null,
    fault: 'joint',
    confirmed: 'person',
    minutes: 9,
    waited: 0,
    parts: [],
    settled: 0,
  },
];

/** A case that was handed over, and what each person can do to it. */
interface Bench {
  kinds(): Promise<readonly string[]>;
  command(who: Who, name: string): Promise<Form | null>;
  tap(who: Who, label: string): Promise<Form | null>;
  submit(who: Who, form: Form, values: Readonly<Record<string, string>>): Promise<void>;
  /** What was shown to this person alone, by now. */
  privately(who: Who): string;
  close(): Promise<void>;
}
interface Form {
  readonly form: unknown;
}

interface Came {
  readonly modal?: unknown;
  readonly views?: readonly unknown[];
  readonly privately: readonly string[];
}

async function onDiscord(): Promise<Bench> {
  const stage = await openDiscord({ earlier });
  const { server } = stage;
  const people = {
    owner: server.person({ name: 'Ann' }),
    stranger: server.person({ name: 'Bea' }),
    mender: server.person({ name: 'Mo', roles: ['mender'] }),
    moderator: server.person({ name: 'Vesna', roles: ['moderator'] }),
  };
  await people.owner.command(server.places.repairs, 'mend', 'start', { about: 'It lights up but is silent' });
  await stage.settled();
  const thread = server.threads(server.places.repairs)[0] ?? '';
  await stage.answer(people.owner, thread, 'silent', 'solid', 'no');
  await people.owner.tap(stage.withButton(thread, 'Ask a person'), 'Ask a person');
  await stage.settled();
  const heard = new Map<Who, string[]>();
  const came = async (who: Who, { modal, privately }: Came): Promise<Form | null> => {
    heard.set(who, [...(heard.get(who) ?? []), ...privately]);
    await stage.settled();
    return modal === undefined ? null : { form: modal };
  };
  return {
    kinds: async () => (await stage.events(thread)).map(({ kind }) => kind),
    command: async (who, name) => came(who, await people[who].command(thread, 'bench', name, {})),
    tap: async (who, label) => {
      const [entry] = server.messages(server.places.review);
      return came(who, await people[who].tap(entry as never, label));
    },
    async submit(who, { form }, values) {
      await people[who].submit(form as never, { ...values });
      await stage.settled();
    },
    privately: (who) => (heard.get(who) ?? []).join('\n'),
    close: () => stage.close(),
  };
}

async function onSlack(): Promise<Bench> {
  const stage = await openSlack({ earlier });
  const { server } = stage;
  const people = {
    owner: server.person({ name: 'Ann' }),
    stranger: server.person({ name: 'Bea' }),
    mender: server.person({ name: 'Mo', groups: ['menders'] }),
    moderator: server.person({ name: 'Vesna', groups: ['moderators'] }),
  };
  await stage.later(2);
  const channel = server.channel('general');
  await people.owner.command(channel, '/mend', 'start It lights up but is silent');
  await stage.settled();
  for (const label of [
    'It lights up, but it is silent',
    'One with transistors',
    'No, it stays dark',
    'Ask a person',
  ]) {
    await people.owner.tap(stage.withButton(channel, label), label);
    await stage.settled();
  }
  const thread = server.messages(channel)[0]?.ts ?? '';
  const heard = new Map<Who, string[]>();
  const came = async (who: Who, { views = [], privately }: Came): Promise<Form | null> => {
    await stage.settled();
    heard.set(who, [...(heard.get(who) ?? []), ...privately]);
    return views[0] === undefined ? null : { form: views[0] };
  };
  return {
    kinds: async () => (await stage.events(`slack:${channel}/${thread}`)).map(({ kind }) => kind),
    command: async (who, name) => came(who, await people[who].command(channel, '/bench', `${name} 1`)),
    tap: async (who, label) => {
      const [entry] = server.messages(server.channel('review'));
      return came(who, await people[who].tap(entry as never, label));
    },
    async submit(who, { form }, values) {
      await people[who].submit(form as never, { ...values });
      await stage.settled();
      await later(20);
    },
    privately: (who) => (heard.get(who) ?? []).join('\n'),
    close: () => stage.close(),
  };
}

let bench: Bench | null = null;
afterEach(async () => {
  await bench?.close();
  bench = null;
});

const count = async (on: Bench, kind: string): Promise<number> =>
  (await on.kinds()).filter((one) => one === kind).length;

describe.each([
  ['Discord', onDiscord],
  ['Slack', onSlack],
] as const)('on %s', (_, open) => {
  test.each(acts)(
    '“$name” is done by those who may, and by nobody else',
    async ({ name, label, form, event, times = 1, by }) => {
      bench = await open();
      const before = await count(bench, event);
      // First all who may not, in every way there is.
      const may = (who: Who): boolean => by.includes(who);
      for (const who of whos.filter((one) => !may(one))) {
        expect(await bench.command(who, name), `${who}, by command`).toBeNull();
        expect(await bench.tap(who, label), `${who}, by button`).toBeNull();
        expect(await count(bench, event), who).toBe(before);
      }
      const way = by.includes('mender') ? 'mender' : 'moderator';
      if (form === undefined) await bench.command(way, name);
      else {
        const given = await bench.tap(way, label);
        if (given === null) throw new Error(`${way} was given no form`);
        for (const who of whos.filter((one) => !may(one))) {
          await bench.submit(who, given, form);
          expect(await count(bench, event), `${who}, with the form of a ${way}`).toBe(before);
        }
        await bench.submit(way, given, form);
      }
      expect(await count(bench, event)).toBe(before + times);
    },
  );

  test('earlier cases are shown to a moderator alone, and leave nothing in the case', async () => {
    bench = await open();
    const before = await bench.kinds();
    for (const who of whos) {
      await bench.command(who, 'similar');
      const commanded = bench.privately(who);
      expect(commanded.includes('1. Fixed'), `${who}, by command`).toBe(who === 'moderator');
      await bench.tap(who, 'Earlier cases');
      const tapped = bench.privately(who).slice(commanded.length);
      expect(tapped.includes('1. Fixed'), `${who}, by button`).toBe(who === 'moderator');
      expect(commanded, who).not.toBe('');
    }
    expect((await bench.kinds()).filter((kind) => kind !== 'joined')).toEqual(
      before.filter((kind) => kind !== 'joined'),
    );
  });
});

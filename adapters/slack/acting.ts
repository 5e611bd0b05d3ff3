import type { Inbound } from '../../shared/inbound.ts';
import type { Person } from '../../shared/person.ts';
import { type Answering, answering, type Occasion } from './answer.ts';
import { failure } from './api.ts';
import type { Body } from './blocks.ts';
import { type Context, threadOf } from './context.ts';
import type { Meant } from './inbound.ts';
import { body, replyBody } from './outbound.ts';
import { written } from './text.ts';

/** What people tap, fill in and command. */

const notTaken = 'Something went wrong on my side, and I did not take that in. Please send it again.';

export function createActing(context: Context) {
  const { api, directory, desk, me, notice, now, give, stamp } = context;

  async function acted(
    meant: Meant,
    id: string,
    user: string,
    occasion: Omit<Occasion, 'user'>,
    message: string | null,
  ): Promise<void> {
    const answer = answering({ ...occasion, user }, api);
    try {
      const by = await directory.person(user);
      await means(meant, id, by, occasion, message, answer);
    } catch (cause) {
      notice(`Slack: something that was tapped could not be taken in. ${failure(cause).message}`);
      answer.whisper(notTaken);
    }
    await answer
      .end()
      .catch((cause) => notice(`Slack: a private answer could not be shown. ${failure(cause).message}`));
  }

  async function means(
    meant: Meant,
    id: string,
    by: Person,
    occasion: Omit<Occasion, 'user'>,
    message: string | null,
    answer: Answering,
  ): Promise<void> {
    switch (meant.kind) {
      case 'give': {
        const thread = await caseFor(meant, by, occasion);
        if (thread === null) {
          answer.whisper(
            meant.content.kind === 'asked'
              ? 'Which case? In its thread, write my name and the word, such as “@… undo”; “/mend mine” shows your cases.'
              : 'Which case? “/bench list” numbers them: write the number behind the word, such as “/bench take 2”.',
          );
          return;
        }
        await give({ ...stamp(id, thread, by), ...meant.content } as Inbound, (one) =>
          answer.give(one, thread),
        );
        return;
      }
      case 'start':
        return start(meant.words, id, by, occasion, answer);
      case 'request': {
        const reply = await desk.request({ by, platform: 'slack', at: now(), ...meant.wish });
        answer.say(replyBody(reply));
        return;
      }
      case 'offer':
        return offerAnswered(meant, id, by, occasion, message, answer);
      case 'nothing':
        answer.whisper(meant.words);
        return;
      default:
        return meant satisfies never;
    }
  }

  /** Commands name no thread on Slack: the case is named by its number, or is the only one it can be. */
  async function caseFor(
    { thread, number, content }: Extract<Meant, { kind: 'give' }>,
    by: Person,
    { channel, thread: here }: Omit<Occasion, 'user'>,
  ): Promise<string | null> {
    if (thread !== undefined) return thread;
    const asked = { by, platform: 'slack', at: now() };
    if (channel !== null && here !== null) {
      const latest = await desk.latest(threadOf(channel, here));
      if (latest) return latest.thread;
    }
    const bench = content.kind === 'acted' || content.kind === 'wanted' || number !== undefined;
    const { cases } = await desk.request({ ...asked, what: bench ? 'list' : 'mine' });
    if (number !== undefined) return cases[number - 1]?.thread ?? null;
    if (bench) return cases.length === 1 ? (cases[0]?.thread ?? null) : null;
    return cases.find((one) => one.thread.startsWith(`slack:${channel}/`))?.thread ?? null;
  }

  async function start(
    words: string,
    id: string,
    by: Person,
    { channel, thread: here }: Omit<Occasion, 'user'>,
    answer: Answering,
  ): Promise<void> {
    if (channel === null) return;
    if (here !== null && (await desk.latest(threadOf(channel, here)))) {
      answer.whisper('There is a case in this thread already.');
      return;
    }
    const first = body(
      { kind: 'say', words: words === '' ? 'A repair begins here.' : `A repair begins here: ${words}` },
      '',
      null,
    );
    const ts = here ?? (await api.post(channel, null, first as Body, `start:${id}`));
    const thread = threadOf(channel, ts);
    await give(
      { ...stamp(id, thread, by), kind: 'opened', words, place: directory.channelName(channel) },
      (one) => answer.give(one, thread),
    );
  }

  /** Only whoever wrote the post says whether help is wanted. */
  async function offerAnswered(
    { yes, to, ts }: Extract<Meant, { kind: 'offer' }>,
    id: string,
    by: Person,
    { channel }: Omit<Occasion, 'user'>,
    message: string | null,
    answer: Answering,
  ): Promise<void> {
    if (by.id !== `slack:${to}`) {
      answer.whisper('Thank you. Only whoever wrote the post can answer this.');
      return;
    }
    if (channel === null) return;
    const done = async (words: string): Promise<void> => {
      const now = body({ kind: 'say', words }, '', null);
      if (message !== null && now) await api.update(channel, message, now).catch(() => undefined);
    };
    if (!yes) return done('All right, I keep quiet. “/mend start” calls me.');
    const thread = threadOf(channel, ts);
    const words = written(await api.words(channel, ts), me);
    await give(
      { ...stamp(id, thread, by), kind: 'opened', words, place: directory.channelName(channel) },
      (one) => answer.give(one, thread),
    );
    await done('Good. We begin.');
  }

  return acted;
}

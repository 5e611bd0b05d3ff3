import type { Inbound } from '../../shared/inbound.ts';
import type { Person } from '../../shared/person.ts';
import type { Order } from '../order.ts';
import { cut, forgetOldest } from '../words.ts';
import { type Answering, answering } from './answer.ts';
import { failure } from './api.ts';
import { type Body, ephemeral, limits, row, silent } from './body.ts';
import { type Context, channelOf, notTaken, placeOf, threadName } from './context.ts';
import { isThread } from './guild.ts';
import { forgetId, numbersId } from './ids.ts';
import { type Meant, meantBy } from './inbound.ts';
import { type Channel, type Interaction, Message } from './payload.ts';

/** What people tap, command and fill in. */

interface Done {
  readonly interaction: Interaction;
  readonly channel: string;
  readonly by: Person;
  readonly answer: Answering;
}
type Of<K extends Meant['kind']> = Extract<Meant, { kind: K }>;

const longest = 20_000;
const noCase = 'There is no case here. “/mend start” begins one.';
const caseHere = 'There is a case here already. “/mend where” shows where it stands.';
const settledHere =
  'The case in this thread is settled. “/mend again” takes it up again; for another appliance, begin outside this thread.';

export function createActing(context: Context, order: Order): (interaction: Interaction) => void {
  const { api, guild, desk, application, notice, now, give, stamp } = context;
  const handled = new Set<string>();

  /** The three seconds run from here, whatever else is under way in the channel. */
  function arrived(interaction: Interaction): void {
    const user = interaction.member?.user ?? interaction.user;
    const channel = interaction.channel_id ?? interaction.channel?.id;
    if (!user || user.bot || channel === undefined) return;
    if (interaction.guild_id !== undefined && interaction.guild_id !== guild.id) return;
    if (handled.has(interaction.id)) return;
    handled.add(interaction.id);
    forgetOldest(handled);
    const answer = answering(interaction, application, api);
    order.in(channel, async () => {
      try {
        const by = await guild.person(user, interaction.member, interaction.guild_id !== undefined);
        await act(meantBy(interaction), { interaction, channel, by, answer });
      } catch (cause) {
        notice(`Discord: something that was tapped could not be taken in. ${failure(cause).message}`);
        answer.whisper(notTaken);
      }
      await answer.end();
    });
  }

  async function act(meant: Meant, done: Done): Promise<void> {
    switch (meant.kind) {
      case 'give':
        return given(meant, done);
      case 'start':
        return start(meant, done);
      case 'request':
        return request(meant, done);
      case 'offer':
        return offerAnswered(meant, done);
      case 'nothing':
        done.answer.whisper(meant.words);
        return;
      default:
        return meant satisfies never;
    }
  }

  async function given(
    { content, thread: named }: Of<'give'>,
    { interaction, channel, by, answer }: Done,
  ): Promise<void> {
    // A name that came back from a client opens nothing: there has to be a case.
    const latest = await desk.latest(named ?? placeOf(channel));
    if (latest === null) return answer.whisper(noCase);
    const thread = named ?? latest.thread;
    await give({ ...stamp(interaction.id, thread, by), ...content } as Inbound, (one) =>
      answer.give(one, thread),
    );
  }

  const opened = (thread: string, words: string, { interaction, channel, by, answer }: Done): Promise<void> =>
    give(
      {
        ...stamp(interaction.id, thread, by),
        kind: 'opened',
        words: words.slice(0, longest),
        place: guild.nameOf(channel),
      },
      (one) => answer.give(one, thread),
    );

  async function start({ words, on }: Of<'start'>, done: Done): Promise<void> {
    const { interaction, channel, answer } = done;
    const inGuild = interaction.guild_id !== undefined;
    const inThread = inGuild && isThread(await guild.channel(channel));
    if (!inGuild || inThread) {
      const latest = await desk.latest(placeOf(channel));
      if (latest && !latest.settled) return answer.whisper(caseHere);
      if (latest && inThread) return answer.whisper(settledHere);
    }
    if (!inGuild) return opened(`${placeOf(channel)}/${interaction.id}`, words, done);
    if (inThread) return opened(placeOf(channel), words, done);
    const thread = placeOf(await api.newThread(channel, threadName(words), on));
    await opened(thread, words, done);
    answer.replace({ ...said(goesOn(thread)), flags: ephemeral });
  }

  async function request({ wish }: Of<'request'>, { by, answer }: Done): Promise<void> {
    const reply = await desk.request({ by, platform: 'discord', at: now(), ...wish });
    const lines = reply.cases.map((one, i) => `${i + 1}. ${one.danger ? 'DANGER. ' : ''}${one.words}`);
    const confirm = reply.confirm && {
      type: 2 as const,
      style: 4 as const,
      label: cut(reply.confirm.label, limits.label),
      custom_id: reply.confirm.flow === undefined ? forgetId : numbersId(reply.confirm.flow),
    };
    answer.whisper([reply.words, ...lines].join('\n'), confirm ? [row([confirm])] : []);
  }

  /** Only whoever wrote the post says whether help is wanted. */
  async function offerAnswered({ yes, to, message }: Of<'offer'>, done: Done): Promise<void> {
    const { channel, by, answer } = done;
    if (by.id !== placeOf(to))
      return answer.whisper('Thank you. Only whoever wrote the post can answer this.');
    if (!yes) return answer.replace(said('All right, I keep quiet. “/mend start” calls me.'));
    const post = Message.safeParse(await api.message(channel, message)).data;
    const at = await guild.channel(channel);
    const words = post?.content ?? '';
    if (isThread(at)) {
      const lines = [at.name ?? '', ...(await tagsOf(at)), words].filter((one) => one.trim() !== '');
      await opened(placeOf(channel), lines.join('\n'), done);
      return answer.replace(said('Good. We begin.'));
    }
    const thread = placeOf(await api.newThread(channel, threadName(words), message));
    await opened(thread, words, done);
    answer.replace(said(goesOn(thread)));
  }

  const said = (content: string): Body => ({ ...silent, content, components: [] });
  const goesOn = (thread: string): string => `Good. It goes on here: <#${channelOf(thread)}>`;

  async function tagsOf(post: Channel): Promise<string[]> {
    const forum = post.parent_id ? await guild.channel(post.parent_id) : null;
    return (post.applied_tags ?? []).flatMap(
      (id) => forum?.available_tags?.find((tag) => tag.id === id)?.name ?? [],
    );
  }

  return arrived;
}

import type { RawFile } from 'discord.js';
import type { Delivery, Draw, Print } from '../../shared/adapter.ts';
import { cut } from '../words.ts';
import { type Api, failure, isAsleep, isGone, nonceOf } from './api.ts';
import { type Body, limits, silent } from './body.ts';
import { channelOf } from './context.ts';
import { bodies } from './outbound.ts';
import { plain } from './text.ts';

interface Means {
  readonly api: Api;
  readonly review: string | null;
  readonly draw: Draw;
  /** Null: a job card to print is shown in words. */
  readonly print: Print | null;
}

/** Posts what the desk says, or changes what it said; resolves with `channel/message`, or '' where nothing is shown. */
export async function deliverTo({ api, review, draw, print }: Means, delivery: Delivery): Promise<string> {
  const { id, outbound, thread, amends } = delivery;
  if (outbound.kind === 'amend' && amends === undefined) return '';
  const forMenders = outbound.kind === 'bench' || thread === 'discord:bench';
  const channel = forMenders ? review : channelOf(thread);
  if (channel === null) return '';
  try {
    const shown =
      (await picture(api, draw, delivery, channel)) ?? (await paper(api, print, delivery, channel));
    if (shown !== null) return shown;
    const made = bodies(outbound, thread);
    if (amends !== undefined && made[0]) {
      if (await changed(api, amends, made[0])) return amends;
      if (outbound.kind === 'amend') return '';
    }
    let reference = '';
    for (const [part, body] of made.entries()) {
      const posted = await api.post(channel, body, nonceOf(id, part));
      reference ||= `${channel}/${posted.id}`;
    }
    return reference;
  } catch (cause) {
    throw failure(cause);
  }
}

/** False where the message is no longer there. */
async function changed(api: Api, reference: string, body: Body): Promise<boolean> {
  const [channel = '', message = ''] = reference.split('/');
  const edit = () => api.edit(channel, message, body);
  try {
    await edit().catch(async (cause) => {
      if (!isAsleep(cause)) throw cause;
      await api.wake(channel);
      await edit();
    });
    return true;
  } catch (cause) {
    if (!isGone(cause)) throw cause;
    return false;
  }
}

/** Null where there is no picture; its words are shown then. */
async function picture(
  api: Api,
  draw: Draw,
  { id, outbound }: Delivery,
  channel: string,
): Promise<string | null> {
  if (outbound.kind !== 'show') return null;
  const drawn = await draw(outbound.picture).catch(() => null);
  if (drawn === null) return null;
  const name = 'where-we-are.png';
  const files: RawFile[] = [{ name, data: Buffer.from(drawn.png), contentType: 'image/png' }];
  const body: Body = {
    ...silent,
    embeds: [{ image: { url: `attachment://${name}` } }],
    attachments: [{ id: '0', filename: name, description: cut(outbound.alt, 1024) }],
  };
  const posted = await api.post(channel, body, nonceOf(id, 0), files);
  return `${channel}/${posted.id}`;
}

/** Null where there is no page to print; the card is shown in words then. */
async function paper(
  api: Api,
  print: Print | null,
  { id, outbound, thread }: Delivery,
  channel: string,
): Promise<string | null> {
  if (outbound.kind !== 'paper' || print === null) return null;
  const printed = await print(outbound, thread).catch(() => null);
  if (printed === null) return null;
  const { name } = printed;
  const files: RawFile[] = [{ name, data: Buffer.from(printed.pdf), contentType: 'application/pdf' }];
  const body: Body = {
    ...silent,
    content: cut(plain(outbound.words), limits.content),
    attachments: [{ id: '0', filename: name, description: cut(outbound.words, 1024) }],
  };
  const posted = await api.post(channel, body, nonceOf(id, 0), files);
  return `${channel}/${posted.id}`;
}

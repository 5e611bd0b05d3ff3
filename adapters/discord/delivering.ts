import type { RawFile } from 'discord.js';
import type { Delivery, Draw } from '../../shared/adapter.ts';
import { cut } from '../words.ts';
import { type Api, failure, isAsleep, isGone, nonceOf } from './api.ts';
import { type Body, silent } from './body.ts';
import { channelOf } from './context.ts';
import { bodies } from './outbound.ts';

/** Posts what the desk says, or changes what it said; resolves with `channel/message`, or '' where nothing is shown. */
export async function deliverTo(
  { api, review, draw }: { readonly api: Api; readonly review: string | null; readonly draw: Draw },
  delivery: Delivery,
): Promise<string> {
  const { id, outbound, thread, amends } = delivery;
  if (outbound.kind === 'amend' && amends === undefined) return '';
  const forMenders = outbound.kind === 'bench' || thread === 'discord:bench';
  const channel = forMenders ? review : channelOf(thread);
  if (channel === null) return '';
  try {
    const shown = await picture(api, draw, delivery, channel);
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

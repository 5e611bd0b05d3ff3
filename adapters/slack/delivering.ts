import type { Delivery, Draw, Print } from '../../shared/adapter.ts';
import { forgetOldest } from '../words.ts';
import { type Api, failure, isGone, uncertain } from './api.ts';
import type { Body } from './blocks.ts';
import { partsOf } from './context.ts';
import { body } from './outbound.ts';
import { plain } from './text.ts';

/** What the desk says, posted: once, although Slack itself drops no doubles. */
export function createDelivering({
  api,
  draw,
  print,
  review,
}: {
  readonly api: Api;
  readonly draw: Draw;
  /** Null: a job card to print is shown in words. */
  readonly print: Print | null;
  /** The menders' channel; null: there is none. */
  readonly review: string | null;
}): (delivery: Delivery) => Promise<string> {
  /** Deliveries of which nobody knows whether they were posted. */
  const doubtful = new Set<string>();
  /** Threads in which something was posted since the start: before that, another life of this desk may have. */
  const postedIn = new Set<string>();

  async function deliver(delivery: Delivery): Promise<string> {
    const { id, outbound, thread, amends } = delivery;
    const toMenders = outbound.kind === 'bench' || thread === 'slack:bench';
    if (toMenders && review === null) return '';
    if (outbound.kind === 'amend' && amends === undefined) return '';
    const [channel, ts] = toMenders ? [review as string, null] : partsOf(thread);
    try {
      if (outbound.kind === 'show' && ts !== null && (await pictured(outbound, channel, ts))) return '';
      if (outbound.kind === 'paper' && ts !== null && (await printed(outbound, thread, channel, ts)))
        return '';
      const link = outbound.kind === 'bench' ? await api.link(...partsOf(thread)) : null;
      const made = body(outbound, thread, link);
      if (made === null) return '';
      if (amends !== undefined) {
        const [where = '', message = ''] = amends.split('/');
        try {
          await api.update(where, message, made);
          return amends;
        } catch (cause) {
          if (!isGone(cause)) throw cause;
          if (outbound.kind === 'amend') return '';
        }
      }
      return `${channel}/${await postOnce(channel, ts, made, id)}`;
    } catch (cause) {
      throw failure(cause);
    }
  }

  /** Slack drops no doubles: where it may have been posted already, it is looked for first. */
  async function postOnce(channel: string, ts: string | null, made: Body, id: string): Promise<string> {
    const place = `${channel}/${ts}`;
    if (doubtful.has(id) || !postedIn.has(place)) {
      const there = await api.find(channel, ts, id);
      if (there !== null) {
        doubtful.delete(id);
        return there;
      }
    }
    try {
      const posted = await api.post(channel, ts, made, id);
      doubtful.delete(id);
      postedIn.add(place);
      forgetOldest(postedIn);
      return posted;
    } catch (cause) {
      if (uncertain(cause)) doubtful.add(id);
      throw cause;
    }
  }

  async function pictured(
    { picture, alt }: Extract<Delivery['outbound'], { kind: 'show' }>,
    channel: string,
    ts: string,
  ): Promise<boolean> {
    try {
      const { png } = await draw(picture);
      await api.upload(channel, ts, png, alt);
      return true;
    } catch {
      // The words say the same.
      return false;
    }
  }

  async function printed(
    paper: Extract<Delivery['outbound'], { kind: 'paper' }>,
    thread: string,
    channel: string,
    ts: string,
  ): Promise<boolean> {
    if (print === null) return false;
    try {
      const { pdf, name } = await print(paper, thread);
      await api.uploadPdf(channel, ts, pdf, name, plain(paper.words));
      return true;
    } catch {
      // The card in words says the same.
      return false;
    }
  }

  return deliver;
}

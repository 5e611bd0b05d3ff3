import { afterEach, describe, expect, test } from 'vitest';
import type { Print } from '../../shared/adapter.ts';
import { openStage as openDiscord } from './discord/stage.ts';
import { openStage as openSlack } from './slack/stage.ts';

/** The job card to print: a file in the case's thread, for menders; the card in words where no file can be made. */

const pdf = Buffer.from('%PDF-1.7 a page');
const print: Print = async ({ card }, thread) => {
  if (!card.startsWith('# Job card: Table radio')) throw new Error('that is no card');
  return { pdf, name: `card-of-${thread.replace(/\W/g, '-')}.pdf` };
};
const broken: Print = async () => {
  throw new Error('no paper');
};

let close: () => Promise<void> = async () => undefined;
afterEach(() => close());

describe('on Discord', () => {
  async function begun(given: Print) {
    const stage = await openDiscord({ print: given });
    close = () => stage.close();
    const { server } = stage;
    const owner = server.person({ name: 'Ann' });
    const mender = server.person({ name: 'Mo', roles: ['mender'] });
    await owner.command(server.places.repairs, 'mend', 'start', { about: 'It lights up but is silent' });
    await stage.settled();
    const thread = server.threads(server.places.repairs)[0] ?? '';
    const files = () =>
      server
        .messages(thread)
        .flatMap(({ wire, pictures }) =>
          wire.attachments.map(({ filename }, i) => ({ filename, bytes: pictures[i] })),
        );
    return { stage, server, owner, mender, thread, files };
  }

  test('a mender gets it as a file, the owner does not', async () => {
    const { stage, owner, mender, thread, files } = await begun(print);
    await owner.command(thread, 'bench', 'print', {});
    await stage.settled();
    expect(files()).toEqual([]);
    await mender.command(thread, 'bench', 'print', {});
    await stage.settled();
    expect(files()).toEqual([{ filename: `card-of-discord-${thread}.pdf`, bytes: pdf }]);
  });

  test('where it cannot be made, the card is shown in words', async () => {
    const { stage, server, mender, thread, files } = await begun(broken);
    await mender.command(thread, 'bench', 'print', {});
    await stage.settled();
    expect(files()).toEqual([]);
    expect(server.messages(thread).at(-1)?.text).toContain('Job card: Table radio');
  });
});

describe('on Slack', () => {
  async function begun(given: Print) {
    const stage = await openSlack({ print: given });
    close = () => stage.close();
    const { server } = stage;
    const owner = server.person({ name: 'Ann' });
    const mender = server.person({ name: 'Mo', groups: ['menders'] });
    await stage.later(2);
    const channel = server.channel('general');
    await owner.command(channel, '/mend', 'start It lights up but is silent');
    await stage.settled();
    await owner.tap(
      stage.withButton(channel, 'It lights up, but it is silent'),
      'It lights up, but it is silent',
    );
    await stage.settled();
    await owner.tap(stage.withButton(channel, 'Ask a person'), 'Ask a person');
    await stage.settled();
    return { stage, server, owner, mender, channel };
  }

  test('a mender gets it as a file, the owner does not', async () => {
    const { stage, server, owner, mender, channel } = await begun(print);
    const thread = server.messages(channel)[0]?.ts ?? '';
    await owner.command(channel, '/bench', 'print 1');
    await stage.settled();
    expect(server.uploads).toEqual([]);
    await mender.command(channel, '/bench', 'print 1');
    await stage.settled();
    expect(server.uploads).toMatchObject([
      { channel_id: channel, thread_ts: thread, initial_comment: 'The job card, one page to print.' },
    ]);
    expect(JSON.stringify(server.uploads)).toContain('.pdf');
  });

  test('where it cannot be made, the card is shown in words', async () => {
    const { stage, server, mender, channel } = await begun(broken);
    await mender.command(channel, '/bench', 'print 1');
    await stage.settled();
    expect(server.uploads).toEqual([]);
    expect(JSON.stringify(server.messages(channel).at(-1)?.blocks)).toContain('Job card: Table radio');
  });
});

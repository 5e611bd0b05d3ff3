import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Someone } from '../../platforms/discord/person.ts';
import type { DiscordServer } from '../../platforms/discord-server.ts';
import { openStage, type Stage } from './stage.ts';

/** The ways into a case. */

let stage: Stage;
let server: DiscordServer;
let ann: Someone;
let bea: Someone;
const silent = 'It lights up but is silent';

beforeEach(async () => {
  stage = await openStage();
  server = stage.server;
  ann = server.person({ name: 'Ann' });
  bea = server.person({ name: 'Bea' });
});
afterEach(async () => {
  await stage.close();
  expect(server.violations).toEqual([]);
  expect(server.pings).toEqual([]);
  expect(server.unacknowledged).toEqual([]);
});

const asked = (channel: string) =>
  server.messages(channel).filter(({ by, buttons }) => by === 'Mend' && buttons.length > 0);

describe('by command', () => {
  test('in a text channel it begins in a thread of its own, and says privately where', async () => {
    const { repairs } = server.places;
    const came = await ann.command(repairs, 'mend', 'start', { about: silent });
    await stage.settled();
    const [thread = ''] = server.threads(repairs);
    expect(came.privately).toEqual([`Good. It goes on here: <#${thread}>`]);
    expect(await stage.openedWith(thread)).toBe(silent);
    expect(asked(thread)).toHaveLength(1);
    expect(server.messages(repairs)).toEqual([]);
  });

  test('in a thread it begins there, and only once', async () => {
    const thread = await ann.thread(server.places.talk, 'My radio');
    await ann.command(thread, 'mend', 'start', { about: silent });
    await stage.settled();
    expect(asked(thread)).toHaveLength(1);
    const again = await bea.command(thread, 'mend', 'start');
    expect(again.privately).toEqual([expect.stringContaining('There is a case here already')]);
    await stage.settled();
    expect(asked(thread)).toHaveLength(1);
    expect(server.threads(server.places.talk)).toEqual([thread]);
  });

  test('anything else about a case says that there is none, where there is none', async () => {
    for (const sub of ['where', 'why', 'undo', 'person', 'card', 'stop', 'again'])
      expect((await ann.command(server.places.talk, 'mend', sub)).privately).toEqual([
        'There is no case here. “/mend start” begins one.',
      ]);
  });
});

describe('by a post in the forum', () => {
  const post = () => ann.post(server.places.forum, { title: 'Radio', text: silent, tags: ['radio'] });

  test('help is offered once, with nothing said to anybody else', async () => {
    const thread = await post();
    await stage.settled();
    expect(server.messages(thread).map(({ by }) => by)).toEqual(['Ann', 'Mend']);
    expect(server.messages(thread)[1]?.buttons).toEqual(['Yes, please', 'No, thanks']);
    await bea.write(thread, 'I had that once.');
    await ann.write(thread, 'And?');
    expect(server.messages(thread)).toHaveLength(4);
  });

  test('“yes” begins with the title, the tags and the words of the post, and the offer loses its buttons', async () => {
    const thread = await post();
    await ann.tap(stage.withButton(thread, 'Yes, please'), 'Yes, please');
    await stage.settled();
    const [, offer, question] = server.messages(thread);
    expect(offer).toMatchObject({ content: 'Good. We begin.', buttons: [], edited: true });
    expect(question?.text).toContain('understand you right');
    expect(await stage.openedWith(thread)).toBe(`Radio\nradio\n${silent}`);
  });

  test('“no, thanks” is the end of it', async () => {
    const thread = await post();
    const came = await ann.tap(stage.withButton(thread, 'No, thanks'), 'No, thanks');
    expect(came.updated).toMatchObject({ content: expect.stringContaining('I keep quiet'), buttons: [] });
    await ann.write(thread, 'It smells of smoke, by the way');
    await stage.settled();
    expect(server.messages(thread)).toHaveLength(3);
    expect(await stage.events(thread)).toEqual([]);
  });

  test('only whoever wrote the post can answer, by an old client or a forged one either', async () => {
    const thread = await post();
    const offer = stage.withButton(thread, 'Yes, please');
    for (const label of ['Yes, please', 'No, thanks']) {
      const came = await bea.tap(offer, label);
      expect(came.privately).toEqual([expect.stringContaining('Only whoever wrote the post')]);
    }
    await stage.settled();
    expect(stage.withButton(thread, 'Yes, please').buttons).toHaveLength(2);
    expect(await stage.events(thread)).toEqual([]);
  });

  test('a tap that the gateway repeats begins one case', async () => {
    const thread = await post();
    await ann.tap(stage.withButton(thread, 'Yes, please'), 'Yes, please', { twice: true });
    await stage.settled();
    expect(asked(thread)).toHaveLength(1);
  });
});

test('in a text channel for help it offers under the post, and goes on in a thread of the post', async () => {
  await stage.close();
  stage = await openStage({ place: { help_channels: ['#repairs'] } });
  server = stage.server;
  const { repairs } = server.places;
  ann = server.person({ name: 'Ann' });
  const post = await ann.write(repairs, silent);
  const offer = stage.withButton(repairs, 'Yes, please');
  expect(offer.replyTo).toBe(post.id);
  await ann.tap(offer, 'Yes, please');
  await stage.settled();
  expect(server.threads(repairs)).toEqual([post.id]);
  expect(asked(post.id)).toHaveLength(1);
  expect(server.messages(repairs)[1]).toMatchObject({
    content: `Good. It goes on here: <#${post.id}>`,
    buttons: [],
  });
});

test('a mention begins in a thread on the message; talk without one is left alone', async () => {
  const { talk } = server.places;
  await bea.write(talk, 'Who mends radios?');
  const call = await ann.write(talk, silent, { mention: true });
  await stage.settled();
  expect(server.threads(talk)).toEqual([call.id]);
  expect(await stage.openedWith(call.id)).toBe(silent);
  expect(server.messages(talk)).toHaveLength(2);
});

test('the menu of a message begins with the words of that message, in a thread on it', async () => {
  const { talk } = server.places;
  const message = await bea.write(talk, silent);
  const came = await ann.menu(message, 'Help with this');
  await stage.settled();
  expect(came.privately).toEqual([`Good. It goes on here: <#${message.id}>`]);
  expect(await stage.openedWith(message.id)).toBe(silent);
  // Another time it is the same thread.
  const again = await bea.menu(message, 'Help with this');
  expect(again.answered).toBe(true);
  await stage.settled();
  expect(server.threads(talk)).toEqual([message.id]);
  expect(asked(message.id)).toHaveLength(1);
});

test('a direct message begins by itself, and the next case after a settled one too', async () => {
  const dm = ann.dm();
  await ann.write(dm, silent);
  await stage.settled();
  expect(asked(dm)).toHaveLength(1);
  await stage.answer(ann, dm, 'silent', 'solid', 'no', 'works');
  expect((await stage.events(dm)).map(({ kind }) => kind)).toContain('settled');
  const before = asked(dm).length;
  await ann.write(dm, 'it hums');
  await stage.settled();
  expect(await stage.openedWith(dm)).toBe('it hums');
  expect(asked(dm)).toHaveLength(before + 1);
});

test('a settled case is left alone by talk in its thread, until somebody takes it up again', async () => {
  const { repairs } = server.places;
  const mo = server.person({ name: 'Mo', roles: ['mender'] });
  await ann.command(repairs, 'mend', 'start', { about: silent });
  await stage.settled();
  const [thread = ''] = server.threads(repairs);
  const { modal } = await mo.command(thread, 'bench', 'settle');
  if (!modal) throw new Error('no form');
  const [outcome] = modal.components;
  await mo.submit(modal, { [outcome?.label ?? '']: outcome?.component?.options?.[0]?.label ?? '' });
  await stage.settled();
  const before = server.messages(thread).length;
  await ann.write(thread, 'Thank you all!');
  await stage.settled();
  expect(server.messages(thread)).toHaveLength(before + 1);
  expect((await ann.command(thread, 'mend', 'start')).privately).toEqual([
    expect.stringContaining('The case in this thread is settled'),
  ]);
  await ann.write(thread, 'again');
  await stage.settled();
  expect(server.messages(thread).length).toBeGreaterThan(before + 2);
});

describe('after the end', () => {
  const end = async (): Promise<string> => {
    await ann.command(server.places.repairs, 'mend', 'start', { about: silent });
    await stage.settled();
    const [thread = ''] = server.threads(server.places.repairs);
    await stage.answer(ann, thread, 'silent', 'solid', 'no', 'works');
    await stage.later(14 * 24 * 60 + 120);
    return thread;
  };
  const followed = async (place: string) =>
    (await stage.events(place)).flatMap((event) => (event.kind === 'followed-up' ? [event.result] : []));

  test('it is asked in the thread, by buttons, whether it still works', async () => {
    const thread = await end();
    const question = stage.withButton(thread, 'Yes, it still works');
    expect(question.buttons).toEqual(
      expect.arrayContaining(['No, the same fault is back', 'Do not ask me again', 'Stop']),
    );
    expect(question.text).not.toContain('Step');
    await ann.tap(question, 'Yes, it still works');
    await stage.settled();
    expect(await followed(thread)).toEqual(['works']);
    await ann.write(thread, 'and it hums, too');
    await stage.settled();
    expect(server.messages(thread).at(-1)?.by).toBe('Ann');
  });

  test('and words in the thread are heard until that is answered', async () => {
    const thread = await end();
    await ann.write(thread, 'it works great, thank you');
    await ann.write(thread, 'yes');
    await stage.settled();
    expect(await followed(thread)).toEqual(['works']);
  });
});

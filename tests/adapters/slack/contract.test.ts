import type { Ask } from '../../../shared/outbound.ts';
import { startSlack } from '../../platforms/slack-server.ts';
import { adapterContract, type MakeStage } from '../adapter.contract.ts';
import { slackOn } from './stage.ts';

const stage =
  (mode: 'socket' | 'http'): MakeStage =>
  async (now) => {
    const server = await startSlack({ mode });
    const adapter = await slackOn(server, mode, now, []);
    const ann = server.person({ name: 'Ann' });
    const help = server.channel('general');
    let thread = '';
    const latest = () => {
      const found = server
        .thread(help, thread)
        .findLast((one) => one.blocks.some(({ block_id }) => block_id === 'controls'));
      if (!found) throw new Error('nothing is asked');
      return found;
    };
    const labelOf = (ask: Ask, answer: string): string =>
      ask.choices.find(({ id }) => id === answer)?.label ?? answer;
    const buttons: Record<string, string> = {
      why: 'Why this?',
      where: 'Where are we?',
      undo: 'Undo',
      person: 'Ask a person',
      unsure: 'Not sure',
      cannot: 'I cannot do this',
      stop: 'Stop',
    };
    return {
      adapter,
      async opens(words) {
        await ann.command(help, '/mend', `start ${words}`);
        thread = server.messages(help)[0]?.ts ?? '';
      },
      async taps(ask, answer) {
        await ann.tap(latest(), labelOf(ask, answer));
      },
      async writes(words) {
        await ann.write(help, words, { thread });
      },
      async enters(_, reading) {
        const { views } = await ann.tap(latest(), 'Enter the reading');
        await ann.submit(views[0] ?? {}, { 'What the meter shows (V d.c.)': reading });
      },
      async asks(_, control) {
        await ann.tap(latest(), buttons[control] ?? control);
      },
      read: async () =>
        server
          .thread(help, thread)
          .map((one) => server.shown(one))
          .join('\n'),
      close: () => server.stop(),
    };
  };

adapterContract('Slack, over a socket', stage('socket'));
adapterContract('Slack, by requests', stage('http'));

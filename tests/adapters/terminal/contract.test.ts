import { PassThrough } from 'node:stream';
import { createTerminal } from '../../../adapters/terminal/terminal.ts';
import { adapterContract, type Stage } from '../adapter.contract.ts';

adapterContract('terminal', async (now): Promise<Stage> => {
  const input = new PassThrough();
  const output = new PassThrough();
  let written = '';
  let count = 0;
  output.on('data', (chunk: Buffer) => {
    written += chunk.toString('utf8');
  });
  const quiet = () => new Promise((resolve) => setTimeout(resolve, 20));
  const type = async (line: string): Promise<void> => {
    input.write(`${line}\n`);
    await quiet();
  };
  const adapter = createTerminal({
    input,
    output,
    person: { id: 'owner', name: 'Ann', roles: [] },
    thread: 'terminal',
    json: false,
    colour: false,
    width: 80,
    skipWaits: false,
    now,
    advance: async () => undefined,
    moved: () => false,
    newId: () => `t${++count}`,
  });
  return {
    adapter,
    opens: type,
    taps: ({ choices }, answer) => type(choices.find(({ id }) => id === answer)?.label ?? answer),
    writes: type,
    enters: (_, reading) => type(reading),
    asks: (_, control) => type(control),
    read: async () => written,
    close: async () => {
      input.end();
    },
  };
});

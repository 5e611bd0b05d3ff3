import { randomUUID } from 'node:crypto';
import type { Server } from 'node:http';
import { type WebSocket, WebSocketServer } from 'ws';
import { guildWire, type World } from './world.ts';

/** Discord's gateway, JSON only: https://discord.com/developers/docs/events/gateway. */
export interface Gateway {
  /** An event for whoever is connected, or will resume. */
  dispatch(event: string, data: unknown): void;
  /** Cuts the line; what happens meanwhile is kept for whoever resumes. */
  drop(code?: number): void;
  /** Says that the session is over: whoever listened has to begin anew, and hears nothing of what was missed. */
  invalidate(): void;
  readonly connected: boolean;
  /** How often somebody began anew, and resumed. */
  readonly counts: { identified: number; resumed: number };
  close(): Promise<void>;
}

interface Session {
  readonly id: string;
  seq: number;
  readonly sent: { readonly s: number; readonly t: string; readonly d: unknown }[];
  socket: WebSocket | null;
}

const op = {
  dispatch: 0,
  heartbeat: 1,
  identify: 2,
  resume: 6,
  reconnect: 7,
  invalid: 9,
  hello: 10,
  ack: 11,
} as const;

export function openGateway(
  http: Server,
  world: World,
  url: () => string,
  {
    gatewayToken = world.token,
    intentsWithheld = 0,
  }: { readonly gatewayToken?: string; readonly intentsWithheld?: number },
): Gateway {
  const server = new WebSocketServer({ server: http, path: '/gateway' });
  const counts = { identified: 0, resumed: 0 };
  let session: Session | null = null;

  const send = (socket: WebSocket, message: object): void => {
    if (socket.readyState === socket.OPEN) socket.send(JSON.stringify(message));
  };

  function tell(t: string, d: unknown): void {
    if (!session) return;
    session.seq += 1;
    // As it is now: what comes later must not change what was sent.
    const one = { s: session.seq, t, d: structuredClone(d) };
    session.sent.push(one);
    if (session.socket) send(session.socket, { op: op.dispatch, ...one });
  }

  function identify(socket: WebSocket, { token, intents = 0 }: { token?: string; intents?: number }): void {
    const wrong = token?.replace(/^Bot /, '') !== gatewayToken;
    if (wrong || (intents & intentsWithheld) !== 0) {
      if (wrong) socket.close(4004, 'Authentication failed.');
      else socket.close(4014, 'Disallowed intent(s).');
      return;
    }
    counts.identified += 1;
    session = { id: randomUUID(), seq: 0, sent: [], socket };
    tell('READY', {
      v: 10,
      user: { ...world.me, verified: true, mfa_enabled: false, flags: 0, email: null },
      guilds: [{ id: world.guild, unavailable: true }],
      session_id: session.id,
      resume_gateway_url: url(),
      shard: [0, 1],
      application: { id: world.application, flags: 1 << 18 },
    });
    tell('GUILD_CREATE', guildWire(world));
  }

  function resume(
    socket: WebSocket,
    { token, session_id: id, seq = 0 }: { token?: string; session_id?: string; seq?: number },
  ): void {
    if (token?.replace(/^Bot /, '') !== gatewayToken) {
      socket.close(4004, 'Authentication failed.');
      return;
    }
    if (!session || session.id !== id) {
      send(socket, { op: op.invalid, d: false });
      return;
    }
    counts.resumed += 1;
    session.socket = socket;
    for (const one of session.sent.filter(({ s }) => s > seq)) send(socket, { op: op.dispatch, ...one });
    tell('RESUMED', {});
  }

  server.on('connection', (socket) => {
    send(socket, { op: op.hello, d: { heartbeat_interval: 41_250 }, s: null, t: null });
    socket.on('message', (raw) => {
      const message = JSON.parse(String(raw)) as { op: number; d: never };
      if (message.op === op.heartbeat) send(socket, { op: op.ack });
      else if (message.op === op.identify) identify(socket, message.d);
      else if (message.op === op.resume) resume(socket, message.d);
      else if (message.op !== 3 && message.op !== 8) socket.close(4001, 'Unknown opcode.');
    });
    socket.on('close', () => {
      if (session?.socket === socket) session.socket = null;
    });
  });

  return {
    dispatch: tell,
    drop(code = 4000) {
      const socket = session?.socket;
      if (session) session.socket = null;
      socket?.close(code);
    },
    invalidate() {
      const socket = session?.socket;
      session = null;
      if (socket) send(socket, { op: op.invalid, d: false });
    },
    get connected() {
      return session?.socket != null;
    },
    counts,
    async close() {
      for (const socket of server.clients) socket.terminate();
      await new Promise<void>((resolve) => server.close(() => resolve()));
    },
  };
}

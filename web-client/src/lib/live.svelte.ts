// The live stream: one websocket for the page, resumed where it broke off.
// Belongs here: connecting, resuming, handing frames to whoever listens. Does not belong
// here: what a screen does with a change, or keeping unsent messages (outbox.svelte.ts).
import { get, post } from './api';
import { Problem } from './problem';
import type { BoardJob, FromServer, Message, Topic, Uuid } from './wire';

const PROTOCOL_VERSION = 1;
/** First wait before connecting again; doubled each time up to the longest. */
const RETRY_FIRST_MS = 500;
const RETRY_LONGEST_MS = 15_000;
/** How long an acknowledgement may take before the sender falls back to a plain request. */
const ACK_WAIT_MS = 6_000;
/** The server pings every 15 s. After this long without a word the line is dead, whatever the browser thinks of it. */
const SILENT_LONGEST_MS = 40_000;
const CLOSE_NOT_SIGNED_IN = 4401;

/** What changed; with the job's row on the board where the server had it at hand. */
export type Change = { topic: Topic; ref_id: Uuid; body: unknown; row?: BoardJob };
/** Who looks at a thread, types in it, or has read it how far. */
export type Here = Extract<FromServer, { type: 'presence' | 'typing' | 'marked' }>;
type Waiter = { settle: (seq: number) => void; refuse: (problem: Problem) => void };

class Live {
  /** Shown to the user: whether other people's changes arrive by themselves. */
  state = $state<'off' | 'connecting' | 'on' | 'lost'>('off');

  /** How a ticket is got, and what happens when the session has gone; a guest's page has its own. */
  ticket = async (): Promise<string> => (await post<{ ticket: string }>('/api/live/ticket')).ticket;
  // Asking who we are ends in the sign-in page when the session is really gone.
  ended = (): void => void get('/api/me').catch(() => undefined);

  private socket: WebSocket | null = null;
  private wanted = false;
  private retry_ms = RETRY_FIRST_MS;
  private retryTimer: ReturnType<typeof setTimeout> | undefined;
  private silenceTimer: ReturnType<typeof setTimeout> | undefined;
  private live_seq: number | null = null;
  private changeListeners = new Set<(change: Change) => void>();
  private resumeListeners = new Set<() => void>();
  private threads = new Map<Uuid, { last_seq: () => number; take: (message: Message) => void; looking: boolean }>();
  /** Threads that are on the screen, followed yet or not. */
  private looks = new Set<Uuid>();
  private hereListeners = new Set<(here: Here) => void>();
  private waiting = new Map<string, Waiter>();

  start(): void {
    if (this.wanted) return;
    this.wanted = true;
    window.addEventListener('online', this.connectNow);
    void this.connect();
  }

  stop(): void {
    this.wanted = false;
    this.live_seq = null;
    window.removeEventListener('online', this.connectNow);
    clearTimeout(this.retryTimer);
    clearTimeout(this.silenceTimer);
    this.socket?.close(1000);
    this.socket = null;
    this.state = 'off';
  }

  /** Called for every change announced; returns how to stop listening. */
  onChange(listener: (change: Change) => void): () => void {
    this.changeListeners.add(listener);
    return () => this.changeListeners.delete(listener);
  }

  /** Called when the stream is back after a break: what was loaded may be old. */
  onResume(listener: () => void): () => void {
    this.resumeListeners.add(listener);
    return () => this.resumeListeners.delete(listener);
  }

  follow(job_id: Uuid, last_seq: () => number, take: (message: Message) => void): () => void {
    this.threads.set(job_id, { last_seq, take, looking: false });
    this.send({ type: 'follow', job_id, after: last_seq() });
    this.look(job_id, this.looks.has(job_id));
    return () => {
      this.threads.delete(job_id);
      this.send({ type: 'unfollow', job_id });
    };
  }

  /** Called for who looks, types and has read how far. */
  onHere(listener: (here: Here) => void): () => void {
    this.hereListeners.add(listener);
    return () => this.hereListeners.delete(listener);
  }

  /** Whether a followed thread is on the screen. */
  look(job_id: Uuid, looking: boolean): void {
    // Kept before the thread is followed too: which of the two comes first is the page's affair.
    if (looking) this.looks.add(job_id);
    else this.looks.delete(job_id);
    const thread = this.threads.get(job_id);
    if (!thread || thread.looking === looking) return;
    thread.looking = looking;
    this.send({ type: 'look', job_id, looking });
  }

  typing(job_id: Uuid): void {
    this.send({ type: 'typing', job_id });
  }

  mark(job_id: Uuid, seen_seq: number): void {
    this.send({ type: 'mark', job_id, seen_seq });
  }

  /** Sends a message over the stream; resolves with its number once stored. */
  say(job_id: Uuid, key: string, kind: string, body: unknown): Promise<number> {
    return new Promise((settle, refuse) => {
      if (!this.send({ type: 'say', job_id, key, kind, body })) return refuse(new Problem({ title: 'Not connected' }, 0));
      const timer = setTimeout(() => {
        this.waiting.delete(key);
        refuse(new Problem({ title: 'No acknowledgement' }, 0));
      }, ACK_WAIT_MS);
      this.waiting.set(key, {
        settle: (seq) => (clearTimeout(timer), settle(seq)),
        refuse: (problem) => (clearTimeout(timer), refuse(problem)),
      });
    });
  }

  private connectNow = (): void => {
    this.retry_ms = RETRY_FIRST_MS;
    if (!this.socket) void this.connect();
  };

  private send(frame: object): boolean {
    if (this.state !== 'on' || this.socket?.readyState !== WebSocket.OPEN) return false;
    this.socket.send(JSON.stringify(frame));
    return true;
  }

  private async connect(): Promise<void> {
    clearTimeout(this.retryTimer);
    if (!this.wanted || this.socket) return;
    if (this.state !== 'lost') this.state = 'connecting';
    let ticket: string;
    try {
      ticket = await this.ticket();
    } catch {
      return this.later();
    }
    if (!this.wanted || this.socket) return;
    const socket = new WebSocket(`${location.origin.replace(/^http/, 'ws')}/live?ticket=${encodeURIComponent(ticket)}`);
    this.socket = socket;
    socket.onopen = () => {
      const threads = Object.fromEntries([...this.threads].map(([job_id, thread]) => [job_id, thread.last_seq()]));
      socket.send(JSON.stringify({ type: 'hello', version: PROTOCOL_VERSION, resume: { live_after: this.live_seq, threads } }));
    };
    this.heard(socket);
    socket.onmessage = (event) => {
      this.heard(socket);
      this.take(JSON.parse(String(event.data)) as FromServer);
    };
    socket.onclose = (event) => {
      if (this.socket !== socket) return;
      clearTimeout(this.silenceTimer);
      this.socket = null;
      if (event.code === CLOSE_NOT_SIGNED_IN) this.ended();
      this.later();
    };
  }

  /** A line that fell silent is given up: `close` alone would wait for an answer that cannot come. */
  private heard(socket: WebSocket): void {
    clearTimeout(this.silenceTimer);
    this.silenceTimer = setTimeout(() => {
      if (this.socket !== socket) return;
      this.socket = null;
      socket.close();
      this.later();
    }, SILENT_LONGEST_MS);
  }

  private later(): void {
    if (!this.wanted) return;
    this.state = 'lost';
    for (const [key, waiter] of this.waiting) {
      this.waiting.delete(key);
      waiter.refuse(new Problem({ title: 'Connection lost' }, 0));
    }
    clearTimeout(this.retryTimer);
    // Spread out, so that a restarted server is not met by everyone in the same instant.
    this.retryTimer = setTimeout(() => void this.connect(), this.retry_ms * (0.5 + Math.random()));
    this.retry_ms = Math.min(this.retry_ms * 2, RETRY_LONGEST_MS);
  }

  private take(frame: FromServer): void {
    switch (frame.type) {
      case 'welcome': {
        const again = this.live_seq !== null || this.state === 'lost';
        this.state = 'on';
        this.retry_ms = RETRY_FIRST_MS;
        this.live_seq = frame.live_seq;
        for (const [job_id, thread] of this.threads) {
          this.send({ type: 'follow', job_id, after: thread.last_seq() });
          if (thread.looking) this.send({ type: 'look', job_id, looking: true });
        }
        if (again) for (const listener of this.resumeListeners) listener();
        return;
      }
      case 'message':
        this.threads.get(frame.message.job_id)?.take(frame.message);
        return;
      case 'ack':
        this.waiting.get(frame.key)?.settle(frame.seq);
        this.waiting.delete(frame.key);
        return;
      case 'refused':
        if (!frame.key) return;
        this.waiting.get(frame.key)?.refuse(new Problem(frame.problem));
        this.waiting.delete(frame.key);
        return;
      case 'changed':
        this.live_seq = frame.live_seq;
        for (const listener of this.changeListeners) listener(frame);
        return;
      case 'presence':
      case 'typing':
      case 'marked':
        for (const listener of this.hereListeners) listener(frame);
        return;
      case 'ping':
        this.send({ type: 'pong' });
        return;
    }
  }
}

export const live = new Live();

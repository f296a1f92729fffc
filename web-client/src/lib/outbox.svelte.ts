// What was written but has not reached the server: kept in the browser's database, sent
// later with the key it was given here, so that it can never count twice.
// Belongs here: pending readings, answers to signs, messages and what a job turned out to be. Does not belong here: half-typed forms
// (drafts.ts), which are not yet meant to be sent.
import { openDB, type IDBPDatabase } from 'idb';
import { keyNew, post } from './api';
import { live } from './live.svelte';
import { asProblem, type Problem } from './problem';
import type { Evidence, FilledAsk, JobFound, KeptPhoto, Message, MessageKind, ReadingBody, SayFound, Uuid } from './wire';

const DATABASE = 'countersign';
const STORE = 'pending';
/** How often unsent things are tried again while nothing else wakes us. */
const RETRY_MS = 20_000;

type Kept =
  | { kind: 'reading'; reading: ReadingBody }
  | { kind: 'sign'; sign: string; present: boolean }
  | { kind: 'message'; message: MessageKind; body: Message['body'] }
  | { kind: 'answer'; ask_id: Uuid; filled: FilledAsk }
  | { kind: 'found'; found: SayFound }
  /** In base64, made smaller already; `photo_id` once its bytes have arrived and only the message is owed. */
  | { kind: 'photo'; content: string; photo_key: string; photo_id?: Uuid; body: Message['body'] };

export interface Pending {
  key: string;
  person_id: Uuid;
  job_id: Uuid;
  at: string;
  what: Kept;
  /** Set when the server refused it; it then waits for the writer, not for the network. */
  refused?: string;
}

class Outbox {
  pending = $state<Pending[]>([]);
  private db: Promise<IDBPDatabase> | null = null;
  private person_id = '';
  private sentListeners = new Set<(item: Pending, answer: unknown) => void>();
  private timer: ReturnType<typeof setInterval> | undefined;
  /** The end of each job's line: what is written later is sent later. */
  private turns = new Map<Uuid, Promise<unknown>>();

  /** Loads what this person left unsent on this device and tries to send it. */
  async open(person_id: Uuid): Promise<void> {
    this.person_id = person_id;
    const all = (await (await this.database()).getAll(STORE)) as Pending[];
    this.pending = all.filter((item) => item.person_id === person_id).sort((a, b) => a.at.localeCompare(b.at));
    if (!this.timer) {
      this.timer = setInterval(() => void this.flush(), RETRY_MS);
      window.addEventListener('online', () => void this.flush());
      live.onResume(() => void this.flush());
    }
    await this.flush();
  }

  onSent(listener: (item: Pending, answer: unknown) => void): () => void {
    this.sentListeners.add(listener);
    return () => this.sentListeners.delete(listener);
  }

  of(job_id: Uuid, kind: Kept['kind']): Pending[] {
    return this.pending.filter((item) => item.job_id === job_id && item.what.kind === kind);
  }

  /** What waits to be said in a job's thread, in the order written. */
  said(job_id: Uuid): Pending[] {
    return this.pending.filter((item) => item.job_id === job_id && (item.what.kind === 'message' || item.what.kind === 'photo' || item.what.kind === 'answer'));
  }

  /**
   * Keeps it, then sends it. Resolves with the server's answer, or with null when it stays kept:
   * nothing answered, or something of the same job waits before it, which it must not overtake.
   * Throws what the server refused, and then forgets it, since the form still holds what was
   * typed.
   */
  async put(job_id: Uuid, what: Kept, key = keyNew()): Promise<unknown> {
    if (what.kind === 'sign') await this.dropAnswers(job_id, what.sign);
    const waits = this.pending.some((other) => other.job_id === job_id && !other.refused);
    const item: Pending = { key, person_id: this.person_id, job_id, at: this.later(), what };
    await this.keep(item);
    if (waits) {
      // Nobody stands and waits for a whole line to move.
      void this.inTurn(job_id, () => this.sendAll(job_id));
      return null;
    }
    return this.inTurn(job_id, async () => {
      // Given up, or taken along by a flush, meanwhile.
      if (!this.pending.some((other) => other.key === key)) return null;
      try {
        return await this.send(item);
      } catch (thrown) {
        const problem = asProblem(thrown);
        if (problem.unreachable || problem.status === 401) return null;
        await this.drop(key);
        throw problem;
      }
    });
  }

  /** Sends what waits, each job in the order written; one job's trouble does not hold up another. */
  async flush(): Promise<void> {
    const jobs = [...new Set(this.pending.map((item) => item.job_id))];
    await Promise.all(jobs.map((job_id) => this.inTurn(job_id, () => this.sendAll(job_id))));
  }

  /** Sends a job's items until nothing answers. */
  private async sendAll(job_id: Uuid): Promise<void> {
    for (const item of this.pending.filter((other) => other.job_id === job_id)) {
      if (item.refused || !this.pending.some((other) => other.key === item.key)) continue;
      try {
        await this.send(item);
      } catch (thrown) {
        const problem: Problem = asProblem(thrown);
        if (problem.unreachable || problem.status === 401) return;
        // Given up while it was on its way: nothing is left to say about it.
        if (!this.pending.some((other) => other.key === item.key)) continue;
        await this.keep({ ...item, refused: [problem.message, ...problem.errors.map((error) => error.says)].join(' ') });
      }
    }
  }

  private inTurn<T>(job_id: Uuid, work: () => Promise<T>): Promise<T> {
    const mine = (this.turns.get(job_id) ?? Promise.resolve()).then(work, work);
    this.turns.set(job_id, mine.catch(() => undefined));
    return mine;
  }

  /** Now, but after everything that waits: the order outlives a reload. */
  private later(): string {
    const last = this.pending.at(-1)?.at;
    return new Date(Math.max(Date.now(), last ? Date.parse(last) + 1 : 0)).toISOString();
  }

  /** The writer gives it up, or takes it back into the form. */
  async drop(key: string): Promise<void> {
    this.pending = this.pending.filter((item) => item.key !== key);
    await (await this.database()).delete(STORE, key);
  }

  /** The latest answer to a sign counts: an older one must not arrive after it. */
  private async dropAnswers(job_id: Uuid, sign: string): Promise<void> {
    for (const { key, what } of this.of(job_id, 'sign')) if (what.kind === 'sign' && what.sign === sign) await this.drop(key);
  }

  /** A refused one, with a new key: the old one has its answer, which is no. */
  async again(key: string): Promise<void> {
    const item = this.pending.find((other) => other.key === key);
    if (!item) return;
    await this.drop(key);
    const { refused: _, ...rest } = item;
    const what = rest.what.kind === 'photo' ? { ...rest.what, photo_key: keyNew() } : rest.what;
    await this.keep({ ...rest, what, key: keyNew() });
    await this.flush();
  }

  private async send(item: Pending): Promise<unknown> {
    const answer = await this.deliver(item);
    await this.drop(item.key);
    for (const listener of this.sentListeners) listener(item, answer);
    return answer;
  }

  private async deliver(item: Pending): Promise<unknown> {
    const { key, job_id } = item;
    let what = item.what;
    if (what.kind === 'answer') return post<Evidence>(`/api/jobs/${job_id}/asks/${what.ask_id}/answer`, what.filled, key);
    if (what.kind === 'photo') {
      let photo_id = what.photo_id;
      if (!photo_id) {
        photo_id = (await post<KeptPhoto>(`/api/jobs/${job_id}/photos`, { content: what.content }, what.photo_key)).id;
        // Kept, so that a break between the two sends the bytes once.
        await this.keep({ ...item, what: { ...what, photo_id } });
      }
      what = { kind: 'message', message: 'photo', body: { ...what.body, photo_id } };
    }
    if (what.kind === 'reading') return post<Evidence>(`/api/jobs/${job_id}/readings`, { reading: what.reading }, key);
    if (what.kind === 'found') return post<JobFound>(`/api/jobs/${job_id}/found`, what.found, key);
    if (what.kind === 'sign') return post<Evidence>(`/api/jobs/${job_id}/observations`, { sign: what.sign, present: what.present }, key);
    if (live.state === 'on') {
      try {
        return await live.say(job_id, key, what.message, what.body);
      } catch (thrown) {
        // No acknowledgement proves nothing either way: the same key over a plain request
        // gives the first answer if it had arrived.
        if (!asProblem(thrown).unreachable) throw thrown;
      }
    }
    return post<Message>(`/api/jobs/${job_id}/thread`, { key, kind: what.message, body: what.body }, key);
  }

  private async keep(item: Pending): Promise<void> {
    this.pending = [...this.pending.filter((other) => other.key !== item.key), item].sort((a, b) => a.at.localeCompare(b.at));
    await (await this.database()).put(STORE, $state.snapshot(item));
  }

  private database(): Promise<IDBPDatabase> {
    this.db ??= openDB(DATABASE, 1, {
      upgrade(db) {
        db.createObjectStore(STORE, { keyPath: 'key' });
      },
    });
    return this.db;
  }
}

export const outbox = new Outbox();

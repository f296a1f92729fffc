// One job's thread as this page holds it: every message once, in the order of its number.
// Belongs here: loading, following live, merging. Does not belong here: unsent messages
// (lib/outbox.svelte.ts) and drawing.
import { untrack } from 'svelte';
import { get, post } from '../../lib/api';
import { asProblem, type Problem } from '../../lib/problem';
import { live, type Here } from '../../lib/live.svelte';
import type { Member, Message, Named, ThreadPage, Uuid } from '../../lib/wire';

/** Messages asked for at once; longer threads are fetched page after page. */
const PAGE = 200;
/** How long somebody counts as typing after they last did. */
const TYPING_MS = 5_000;

export class ThreadView {
  messages = $state.raw<Message[]>([]);
  members = $state.raw<Member[]>([]);
  /** Who has the thread on their screen now. */
  looking = $state.raw<Named[]>([]);
  /** Who types; forgotten by itself. */
  typing = $state.raw<Uuid[]>([]);
  problem = $state<Problem | null>(null);
  loading = $state(true);
  private catching = false;
  private marked = 0;
  private typingTimers = new Map<Uuid, ReturnType<typeof setTimeout>>();

  constructor(private readonly job_id: Uuid) {}

  get last_seq(): number {
    return this.messages.at(-1)?.seq ?? 0;
  }

  /** Loads and follows; returns how to stop. */
  keep(): () => void {
    let off = (): void => {};
    let stopped = false;
    void this.catchUp().then(() => {
      // Followed even while it is withheld from a blind reader: it opens once the read is in.
      if (!stopped) off = live.follow(this.job_id, () => this.last_seq, (message) => this.take(message));
    });
    const offChange = live.onChange(({ topic }) => {
      if (topic === 'request' && this.problem) void this.catchUp();
    });
    const offResume = live.onResume(() => void this.catchUp());
    const offHere = live.onHere((here) => this.hear(here));
    return () => {
      stopped = true;
      off();
      offChange();
      offResume();
      offHere();
      this.looking = [];
    };
  }

  /** Fetches everything after the last message held. */
  async catchUp(): Promise<void> {
    if (this.catching) return;
    this.catching = true;
    try {
      for (;;) {
        const before = untrack(() => this.last_seq);
        const page = await get<ThreadPage>(`/api/jobs/${this.job_id}/thread?after=${before}&limit=${PAGE}`);
        this.members = page.members;
        this.merge(page.messages);
        if (this.last_seq >= page.last_seq || this.last_seq === before) break;
      }
      this.problem = null;
    } catch (thrown) {
      const problem = asProblem(thrown);
      // A dropped network does not take away what is already shown.
      if (!problem.unreachable || this.messages.length === 0) this.problem = problem;
    } finally {
      this.catching = false;
      this.loading = false;
    }
  }

  mark(): void {
    const seq = this.last_seq;
    if (seq <= this.marked) return;
    this.marked = seq;
    void post(`/api/jobs/${this.job_id}/thread/mark`, { seen_seq: seq }).catch(() => (this.marked = 0));
  }

  /** The asks that are answered, by their message's id: the label of the reading. */
  get answered(): Map<Uuid, string> {
    return new Map(this.messages.flatMap(({ body }) => (body.ask_id ? [[body.ask_id, body.reading_label ?? ''] as const] : [])));
  }

  private hear(here: Here): void {
    if (here.job_id !== this.job_id) return;
    if (here.type === 'presence') this.looking = here.looking;
    if (here.type === 'marked') this.members = this.members.map((member) => (member.id === here.person_id ? { ...member, seen_seq: Math.max(member.seen_seq, here.seen_seq) } : member));
    if (here.type !== 'typing') return;
    const { person_id } = here;
    clearTimeout(this.typingTimers.get(person_id));
    this.typing = [...this.typing.filter((id) => id !== person_id), person_id];
    this.typingTimers.set(person_id, setTimeout(() => (this.typing = this.typing.filter((id) => id !== person_id)), TYPING_MS));
  }

  private take(message: Message): void {
    this.typing = this.typing.filter((id) => id !== message.author?.id);
    // A gap means that something was missed: fetch it, so that order is the same for all.
    if (message.seq > this.last_seq + 1) void this.catchUp();
    else this.merge([message]);
  }

  private merge(more: Message[]): void {
    const known = new Set(this.messages.map((message) => message.seq));
    const fresh = more.filter((message) => !known.has(message.seq));
    if (fresh.length) this.messages = [...this.messages, ...fresh].sort((a, b) => a.seq - b.seq);
  }
}

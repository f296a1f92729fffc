// The board as it is on this screen: pages of the queue and the days of the plan, kept true by
// single rows.
// Belongs here: fetching pages, days and rows, and taking what the stream brings. Does not belong
// here: drawing, and what a row means (rows.ts).
import { get } from '../../lib/api';
import { live, type Change } from '../../lib/live.svelte';
import { asProblem, type Problem } from '../../lib/problem';
import type { Board, BoardCounts, BoardJob, Uuid } from '../../lib/wire';
import { FILTER_EMPTY, isOn, matches, newer, order, query, type Filter } from './rows';

/** Rows of a page: some screens full. */
const PAGE_ROWS = 60;
/** Rows of a day in one answer; a fuller day takes another. */
const DAY_ROWS = 500;
/** Rows asked for by id at once; the server takes no more. */
const IDS_MAX = 200;
/** Changes in a burst lead to one question. */
const BURST_MS = 60;
/** How often the counts are asked for while things change. */
const COUNTS_MS = 10_000;

/** A day in view: midnight to midnight of the shop. */
export interface DaySpan {
  date: string;
  start_ms: number;
  end_ms: number;
}

export class BoardView {
  counts = $state.raw<BoardCounts | null>(null);
  problem = $state.raw<Problem | null>(null);
  loading = $state(true);
  /** How many match the filter, on all pages. */
  matching = $state<number | null>(null);
  next = $state<string | null>(null);
  filter = $state.raw<Filter>(FILTER_EMPTY);
  private rows = $state.raw(new Map<Uuid, BoardJob>());
  private queued = $state.raw(new Set<Uuid>());
  private days: DaySpan[] = [];
  private asked = 0;
  private missing = new Set<Uuid>();
  private rowsTimer: ReturnType<typeof setTimeout> | undefined;
  private countsTimer: ReturnType<typeof setTimeout> | undefined;

  constructor(private readonly me: () => Uuid | undefined) {}

  readonly queue = $derived.by(() => [...this.queued].flatMap((id) => this.rows.get(id) ?? []).sort(order));
  readonly all = $derived([...this.rows.values()]);

  row = (id: Uuid): BoardJob | undefined => this.rows.get(id);

  /** The first page anew, with what is filtered now. What is shown stays until it comes. */
  async load(): Promise<void> {
    const mine = ++this.asked;
    try {
      const page = await this.page(null);
      if (mine !== this.asked) return;
      this.queued = new Set();
      this.take(page);
      this.matching = page.matching;
      this.problem = null;
    } catch (thrown) {
      if (mine === this.asked) this.problem = asProblem(thrown);
    } finally {
      if (mine === this.asked) this.loading = false;
    }
  }

  async more(): Promise<void> {
    if (!this.next) return;
    const mine = this.asked;
    try {
      const page = await this.page(this.next);
      if (mine === this.asked) this.take(page);
    } catch (thrown) {
      this.problem = asProblem(thrown);
    }
  }

  seek(filter: Filter): void {
    this.filter = filter;
    void this.load();
  }

  /** The days that are drawn; each is fetched whole. */
  async show(days: DaySpan[]): Promise<void> {
    this.days = days;
    try {
      for (const { date } of days) {
        let after: string | null = null;
        do {
          const asked: URLSearchParams = new URLSearchParams({ day: date, limit: String(DAY_ROWS) });
          if (after) asked.set('after', after);
          const page: Board = await get<Board>(`/api/board?${asked}`);
          this.put(page.jobs);
          after = page.next;
        } while (after);
      }
    } catch (thrown) {
      this.problem = asProblem(thrown);
    }
  }

  /** Keeps it true; use inside $effect. */
  keep(): () => void {
    const offChange = live.onChange((change) => this.hear(change));
    const offResume = live.onResume(() => (void this.load(), void this.show(this.days)));
    return () => {
      clearTimeout(this.rowsTimer);
      clearTimeout(this.countsTimer);
      offChange();
      offResume();
    };
  }

  hear({ topic, ref_id, body, row }: Change): void {
    if (topic !== 'job' && topic !== 'request' && topic !== 'evidence') return;
    const id = topic === 'request' ? (body as { job_id?: Uuid } | null)?.job_id : ref_id;
    if (row) this.put([row], true);
    else if (id) {
      this.missing.add(id);
      clearTimeout(this.rowsTimer);
      this.rowsTimer = setTimeout(() => void this.fetchMissing(), BURST_MS);
    }
    this.countsTimer ??= setTimeout(() => void this.recount(), COUNTS_MS);
  }

  /** Shows a change of one's own at once; the stream brings the whole row a moment later. */
  changed(job: Pick<BoardJob, 'id' | 'version'> & Partial<BoardJob>): void {
    const old = this.rows.get(job.id);
    if (old) this.put([{ ...old, ...job }], true);
  }

  private async page(after: string | null): Promise<Board> {
    const asked = query(this.filter);
    asked.set('limit', String(PAGE_ROWS));
    if (after) asked.set('after', after);
    return get<Board>(`/api/board?${asked}`);
  }

  private take(page: Board): void {
    this.counts = page.counts;
    this.next = page.next;
    this.put(page.jobs);
    this.queued = new Set([...this.queued, ...page.jobs.filter((job) => job.state !== 'cancelled').map((job) => job.id)]);
  }

  private put(rows: BoardJob[], judged = false): void {
    const next = new Map(this.rows);
    const queued = new Set(this.queued);
    for (const told of rows) {
      const row = newer(next.get(told.id), told);
      if (!row) continue;
      next.set(row.id, row);
      if (!judged) continue;
      // Beyond the last page that was fetched it comes with its own page.
      const last = this.next ? this.queue.at(-1) : undefined;
      if (matches(row, this.filter, this.me(), queued.has(row.id)) && (!last || order(row, last) <= 0)) queued.add(row.id);
      else queued.delete(row.id);
    }
    this.rows = next;
    if (judged) this.queued = queued;
  }

  private async fetchMissing(): Promise<void> {
    const ids = [...this.missing].slice(0, IDS_MAX);
    for (const id of ids) this.missing.delete(id);
    try {
      this.put(await get<BoardJob[]>(`/api/board/jobs?ids=${ids.join(',')}`), true);
    } catch {
      // The next change, or the resumed stream, asks again; what is shown is not wrong, only older.
      for (const id of ids) this.missing.add(id);
      return;
    }
    if (this.missing.size) await this.fetchMissing();
  }

  private async recount(): Promise<void> {
    this.countsTimer = undefined;
    try {
      this.counts = (await get<Board>('/api/board?limit=0')).counts;
    } catch {
      return;
    }
  }

  /** The rows that a day draws. */
  on(day: DaySpan): BoardJob[] {
    return this.all.filter((job) => job.state !== 'cancelled' && isOn(job, day.start_ms, day.end_ms));
  }
}

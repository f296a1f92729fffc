// The board's rows: their order, which of them are in view, what is late.
// Belongs here: arithmetic over rows, the same as the server's. Does not belong here: fetching
// them (board.svelte.ts) and drawing them.
import { span } from '../../lib/time';
import type { BoardJob, Urgency, Uuid } from '../../lib/wire';
import { jobClosed, urgencyOrder } from '../../lib/words';

const MINUTE_MS = 60_000;
/** A visit that has not begun is late this long after its planned start; before that it is traffic. */
const GRACE_MS = 15 * MINUTE_MS;

export type Whose = 'all' | 'mine' | 'free';
export interface Filter {
  whose: Whose;
  urgency: Urgency | null;
  /** Somebody's id, or nobody's in particular. */
  person: Uuid | null;
  text: string;
}

export const FILTER_EMPTY: Filter = { whose: 'all', urgency: null, person: null, text: '' };

const ended = (job: BoardJob): number => (jobClosed.includes(job.state) ? 1 : 0);
const start = (job: BoardJob): number => (job.window_start ? Date.parse(job.window_start) : Infinity);

/** The order of the telephone: open first, by urgency, promised time and number. */
export function order(a: BoardJob, b: BoardJob): number {
  const times = start(a) === start(b) ? 0 : start(a) - start(b);
  return ended(a) - ended(b) || urgencyOrder.indexOf(a.urgency) - urgencyOrder.indexOf(b.urgency) || times || a.number - b.number;
}

/**
 * Whether a row belongs into the queue as it is filtered now. What the server has found by its text stays
 * found: it looks through the telephone and the address, too, which a row does not carry.
 */
export function matches(job: BoardJob, filter: Filter, me: Uuid | undefined, found = false): boolean {
  if (job.state === 'cancelled') return false;
  if (filter.urgency && job.urgency !== filter.urgency) return false;
  if (filter.person && job.assigned_to?.id !== filter.person) return false;
  if (filter.whose === 'mine' && job.assigned_to?.id !== me && job.request?.state !== 'ready') return false;
  if (filter.whose === 'free' && (job.assigned_to !== null || ended(job))) return false;
  if (found) return true;
  const told = `${job.number} ${job.complaint} ${job.customer_name} ${job.town} ${job.unit_label}`.toLowerCase();
  return filter.text.toLowerCase().split(/\s+/).every((word) => told.includes(word));
}

/** The query that asks the server for the same. */
export function query(filter: Filter): URLSearchParams {
  const asked = new URLSearchParams();
  if (filter.person) asked.set('person', filter.person);
  else if (filter.whose !== 'all') asked.set('person', filter.whose === 'mine' ? 'me' : 'nobody');
  if (filter.urgency) asked.set('urgency', filter.urgency);
  if (filter.text.trim()) asked.set('q', filter.text.trim());
  return asked;
}

/** What stands in place of an older row; none where the newer one is already there. */
export function newer(old: BoardJob | undefined, row: BoardJob): BoardJob | null {
  if (!old) return row;
  if (row.version < old.version || row.last_change_at < old.last_change_at) return null;
  // The stream shows nobody's drafts; whoever sees one here wrote it.
  return row.request === null && old.request?.state === 'draft' ? { ...row, request: old.request } : row;
}

/** Whether it is planned or promised between two moments. */
export function isOn(job: BoardJob, start_ms: number, end_ms: number): boolean {
  const touches = (from: string | null, to: string | null): boolean => !!from && !!to && Date.parse(from) < end_ms && Date.parse(to) > start_ms;
  return touches(job.planned_start, job.planned_end) || touches(job.window_start, job.window_end);
}

/** "1 h 5 min". */
export function length(ms: number): string {
  const minutes = Math.max(1, Math.round(ms / MINUTE_MS));
  if (minutes < 60) return `${minutes} min`;
  if (minutes >= 2 * 24 * 60) return `${Math.floor(minutes / (24 * 60))} days`;
  return minutes % 60 ? `${Math.floor(minutes / 60)} h ${minutes % 60} min` : `${minutes / 60} h`;
}

/** What is late about a job, in words; nothing mostly. */
export function late(job: Pick<BoardJob, 'state' | 'window_start' | 'window_end' | 'planned_start'>, now_ms: number, zone: string): string | null {
  if (job.state !== 'open' && job.state !== 'assigned') return null;
  const until = job.window_end ? Date.parse(job.window_end) : null;
  const planned = job.planned_start ? Date.parse(job.planned_start) : null;
  if (until !== null && until < now_ms) return `Late: the promised time passed ${length(now_ms - until)} ago`;
  if (until !== null && planned !== null && planned >= until) return `Planned after what was promised, ${span(job.window_start, job.window_end, zone, now_ms)}`;
  if (planned !== null && planned + GRACE_MS < now_ms) return `Late: was to begin ${length(now_ms - planned)} ago`;
  return null;
}

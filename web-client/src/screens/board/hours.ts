// Jobs placed on a day's hours.
// Belongs here: arithmetic of the plan. Does not belong here: drawing it.
import { instantToWall, wallToInstant } from '../../lib/time';
import type { BoardJob } from '../../lib/wire';
import type { DaySpan } from './board.svelte';

export const HOUR_MS = 3_600_000;
/** What plans are moved by. */
export const STEP_MS = HOUR_MS / 4;
/** The plan shows these hours, and more when a job lies outside them. */
const FROM_HOUR = 7;
const TO_HOUR = 20;

export interface Bar {
  job: BoardJob;
  /** Share of the day's width, 0 to 1. */
  left: number;
  width: number;
  lane: number;
  /** What was promised, as shares of the day's width; none where nothing was, or not on this day. */
  promised: { left: number; width: number } | null;
}

export interface Day {
  start_ms: number;
  length_ms: number;
  hours: number[];
  bars(person_id: string | null): { bars: Bar[]; lanes: number };
  /** A stretch as shares of the day's width; none where it does not touch it. */
  share(start_ms: number, end_ms: number): { left: number; width: number } | null;
}

/** The date of an instant in the zone, "2026-11-28". */
export const dateOf = (at: string | number, zone: string): string => instantToWall(at, zone).slice(0, 10);

export function dateAfter(date: string, days: number): string {
  return new Date(Date.parse(`${date}T00:00:00Z`) + days * 24 * HOUR_MS).toISOString().slice(0, 10);
}

/** Midnight to midnight: 23 or 25 hours where the clocks change. */
export function spanOf(date: string, zone: string): DaySpan {
  const midnight = (day: string): number => Date.parse(wallToInstant(`${day}T00:00`, zone));
  return { date, start_ms: midnight(date), end_ms: midnight(dateAfter(date, 1)) };
}

/** The Saturday and Sunday of this week, or the coming ones from Monday on. */
export function weekendOf(date: string): [string, string] {
  const weekday = new Date(`${date}T00:00:00Z`).getUTCDay();
  const saturday = dateAfter(date, weekday === 0 ? -1 : 6 - weekday);
  return [saturday, dateAfter(saturday, 1)];
}

/** When it is drawn: the plan, or for what nobody was planned for what was promised. */
export function drawn(job: BoardJob): { start: number; end: number } | null {
  const [start, end] = job.planned_start && job.planned_end ? [job.planned_start, job.planned_end] : [job.window_start, job.window_end];
  return start && end ? { start: Date.parse(start), end: Date.parse(end) } : null;
}

export function dayOf(jobs: BoardJob[], { start_ms: midnight, end_ms }: DaySpan): Day {
  const today = jobs.flatMap((job) => {
    const when = drawn(job);
    return when && job.state !== 'cancelled' && when.start < end_ms && when.end > midnight ? [{ job, ...when }] : [];
  });
  const hourOf = (ms: number): number => (ms - midnight) / HOUR_MS;
  const last = Math.ceil(hourOf(end_ms));
  const from = Math.max(0, Math.min(FROM_HOUR, ...today.map(({ start }) => Math.floor(hourOf(start)))));
  const to = Math.min(last, Math.max(TO_HOUR, ...today.map(({ end }) => Math.ceil(hourOf(end)))));
  const start_ms = midnight + from * HOUR_MS;
  const length_ms = (to - from) * HOUR_MS;
  const share: Day['share'] = (start, end) => {
    const left = Math.max(0, (start - start_ms) / length_ms);
    const width = Math.min(1, (end - start_ms) / length_ms) - left;
    return width > 0 ? { left, width } : null;
  };
  return {
    start_ms,
    length_ms,
    hours: Array.from({ length: to - from }, (_, i) => from + i),
    share,
    bars(person_id) {
      const ends: number[] = [];
      const bars = today
        .filter(({ job }) => (job.assigned_to?.id ?? null) === person_id)
        .sort((a, b) => a.start - b.start)
        .flatMap(({ job, start, end }): Bar[] => {
          const at = share(start, end);
          if (!at) return [];
          let lane = ends.findIndex((taken) => taken <= start);
          if (lane < 0) lane = ends.length;
          ends[lane] = end;
          const promised = job.window_start && job.window_end ? share(Date.parse(job.window_start), Date.parse(job.window_end)) : null;
          return [{ job, ...at, lane, promised }];
        });
      return { bars, lanes: Math.max(1, ends.length) };
    },
  };
}

/** The first start from `from_ms` on with room for `length_ms` among what is planned; as the server reckons. */
export function freeFrom(taken: { start: number; end: number }[], from_ms: number, length_ms: number): number {
  let at = from_ms;
  for (const { start, end } of [...taken].sort((a, b) => a.start - b.start)) {
    if (end <= at) continue;
    if (start >= at + length_ms) break;
    at = end;
  }
  return at;
}

/** The same within what they are on duty; their plain next free time where no duty has room. */
export function freeOnDuty(taken: { start: number; end: number }[], duty: { start_ms: number; end_ms: number }[] | null, from_ms: number, length_ms: number): number {
  for (const { start_ms, end_ms } of duty ?? []) {
    const at = snapUp(freeFrom(taken, snapUp(Math.max(from_ms, start_ms)), length_ms));
    if (at >= start_ms && at < end_ms) return at;
  }
  return snapUp(freeFrom(taken, from_ms, length_ms));
}

/** The nearest quarter of an hour. */
export const snap = (ms: number): number => Math.round(ms / STEP_MS) * STEP_MS;
export const snapUp = (ms: number): number => Math.ceil(ms / STEP_MS) * STEP_MS;

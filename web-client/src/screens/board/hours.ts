// Jobs placed on a day's hours.
// Belongs here: arithmetic of the plan. Does not belong here: drawing it.
import { instantToWall, wallToInstant } from '../../lib/time';
import type { BoardJob } from '../../lib/wire';

export const HOUR_MS = 3_600_000;
/** A window without an end is drawn this long. */
const OPEN_END_MS = 2 * HOUR_MS;
/** The plan shows these hours, and more when a job lies outside them. */
const FROM_HOUR = 7;
const TO_HOUR = 20;

export interface Bar {
  job: BoardJob;
  /** Share of the day's width, 0 to 1. */
  left: number;
  width: number;
  lane: number;
}

export interface Day {
  start_ms: number;
  hours: number[];
  bars(person_id: string | null): { bars: Bar[]; lanes: number };
}

/** The date of an instant in the zone, "2026-11-28". */
export const dateOf = (at: string | number, zone: string): string => instantToWall(at, zone).slice(0, 10);

export function dateAfter(date: string, days: number): string {
  return new Date(Date.parse(`${date}T00:00:00Z`) + days * 24 * HOUR_MS).toISOString().slice(0, 10);
}

export function dayOf(jobs: BoardJob[], date: string, zone: string): Day {
  const timed = jobs.flatMap((job) => {
    if (!job.window_start || job.state === 'cancelled') return [];
    const start = Date.parse(job.window_start);
    const end = job.window_end ? Date.parse(job.window_end) : start + OPEN_END_MS;
    return [{ job, start, end }];
  });
  const midnight = Date.parse(wallToInstant(`${date}T00:00`, zone));
  const today = timed.filter(({ start, end }) => start < midnight + 24 * HOUR_MS && end > midnight);
  const hourOf = (ms: number): number => (ms - midnight) / HOUR_MS;
  const from = Math.max(0, Math.min(FROM_HOUR, ...today.map(({ start }) => Math.floor(hourOf(start)))));
  const to = Math.min(24, Math.max(TO_HOUR, ...today.map(({ end }) => Math.ceil(hourOf(end)))));
  const start_ms = midnight + from * HOUR_MS;
  const length = (to - from) * HOUR_MS;
  return {
    start_ms,
    hours: Array.from({ length: to - from }, (_, i) => from + i),
    bars(person_id) {
      const ends: number[] = [];
      const bars = today
        .filter(({ job }) => (job.assigned_to?.id ?? null) === person_id)
        .sort((a, b) => a.start - b.start)
        .map(({ job, start, end }) => {
          let lane = ends.findIndex((taken) => taken <= start);
          if (lane < 0) lane = ends.length;
          ends[lane] = end;
          const left = Math.max(0, (start - start_ms) / length);
          return { job, left, width: Math.min(1, (end - start_ms) / length) - left, lane };
        });
      return { bars, lanes: Math.max(1, ends.length) };
    },
  };
}

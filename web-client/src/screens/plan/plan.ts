// What a plan shows: spans to ask for, bars of a day, places and lengths in words.
// Belongs here: reckoning for the page. Does not belong here: drawing it, or reasons, which the
// server wrote.
import { dateAfter, dateOf, HOUR_MS } from '../board/hours';
import { day, hour, wallToInstant } from '../../lib/time';
import type { Instant, Plan, PlanJob, PlanPerson, PlanPlace, Uuid } from '../../lib/wire';

/** What may be asked for. */
export type Which = 'today' | 'tomorrow' | 'weekend';

/** A weekend goes from Friday's end to Monday's beginning. */
const WEEKEND_FROM = '17:00';
const WEEKEND_UNTIL = '07:00';
const FRIDAY = 5;

const weekday = (date: string): number => new Date(`${date}T12:00:00Z`).getUTCDay();

/** From when until when, in the shop's zone. */
export function spanOf(which: Which, now_ms: number, zone: string): { from: Instant; until: Instant } {
  const today = dateOf(now_ms, zone);
  const midnight = (date: string): Instant => wallToInstant(`${date}T00:00`, zone);
  if (which === 'today') return { from: new Date(now_ms).toISOString(), until: midnight(dateAfter(today, 1)) };
  if (which === 'tomorrow') return { from: midnight(dateAfter(today, 1)), until: midnight(dateAfter(today, 2)) };
  // The first Monday morning that still lies ahead, and the Friday before it.
  for (let ahead = 0; ; ahead += 1) {
    const date = dateAfter(today, ahead);
    const until = wallToInstant(`${date}T${WEEKEND_UNTIL}`, zone);
    if (weekday(date) !== 1 || Date.parse(until) <= now_ms) continue;
    const begins = wallToInstant(`${dateAfter(date, FRIDAY - 8)}T${WEEKEND_FROM}`, zone);
    return { from: new Date(Math.max(now_ms, Date.parse(begins))).toISOString(), until };
  }
}

/** "3 h 05 min", "40 min". */
export function lengthWords(minutes: number): string {
  const whole = Math.round(minutes);
  const [hours, rest] = [Math.floor(whole / 60), whole % 60];
  return hours ? `${hours} h ${String(rest).padStart(2, '0')} min` : `${rest} min`;
}

export const nameOf = (plan: Plan, id: Uuid): string => plan.people.find((person) => person.id === id)?.name ?? 'somebody else';

/** "Rui, Sat 28 Nov 10:00 to 11:30". */
export function placeWords(plan: Plan, place: PlanPlace | null | undefined, zone: string): string {
  if (!place) return 'nobody and no time';
  return `${nameOf(plan, place.person_id)}, ${day(place.start, zone)} ${hour(place.start, zone)} to ${hour(place.end, zone)}`;
}

export const kindWord: Record<PlanJob['kind'], string> = {
  held: 'Stays: under way or pinned',
  stays: 'Stays',
  placed: 'Gets a person and a time',
  moved: 'Moves',
  left_out: 'No place for it',
};

/** What can still be taken. */
export const left = (plan: Plan): PlanJob[] => (plan.state === 'open' ? plan.jobs.filter((job) => job.changes && !job.taken) : []);

/** Whose day a job is in, on either side. */
export const concerns = (job: PlanJob, person: Uuid): boolean => job.after?.person_id === person || job.before?.person_id === person;

/** People with something to do, on either side. */
export const busy = (plan: Plan): PlanPerson[] => plan.people.filter((person) => person.duty.length > 0 || plan.jobs.some((job) => concerns(job, person.id)));

/** The local days that a plan touches. */
export function daysOf(plan: Plan, zone: string): string[] {
  const days: string[] = [];
  const last = dateOf(Date.parse(plan.until) - 1, zone);
  for (let date = dateOf(Date.parse(plan.from), zone); date <= last; date = dateAfter(date, 1)) days.push(date);
  return days;
}

export interface Bar {
  job: PlanJob;
  /** Of the day's width, 0 to 1. */
  left: number;
  width: number;
  start: Instant;
  changed: boolean;
}

/** A stretch of the day that is drawn: from the first to the last full hour with anything in it. */
export function stretchOf(plan: Plan, date: string, zone: string): { start_ms: number; hours: number } {
  const [from, to] = [Date.parse(wallToInstant(`${date}T00:00`, zone)), Date.parse(wallToInstant(`${dateAfter(date, 1)}T00:00`, zone))];
  const places = plan.jobs.flatMap((job) => [job.before, job.after]).filter((place) => place != null);
  const shown = [...places, ...plan.people.flatMap((person) => person.pauses)].map((each) => [Date.parse(each.start), Date.parse(each.end)] as const);
  const inside = shown.filter(([start, end]) => start < to && end > from);
  const first = Math.min(...inside.map(([start]) => start), from + 17 * HOUR_MS);
  const last = Math.max(...inside.map(([, end]) => end), from + 8 * HOUR_MS);
  const start_ms = Math.max(from, Math.floor(first / HOUR_MS) * HOUR_MS);
  return { start_ms, hours: Math.max(4, Math.ceil((Math.min(to, last) - start_ms) / HOUR_MS)) };
}

/** One side of a person's day. */
export function barsOf(plan: Plan, person: Uuid, side: 'before' | 'after', stretch: { start_ms: number; hours: number }): Bar[] {
  const whole = stretch.hours * HOUR_MS;
  const bars: Bar[] = [];
  for (const job of plan.jobs) {
    const place = job[side];
    if (!place || place.person_id !== person) continue;
    const start = Math.max(0, Date.parse(place.start) - stretch.start_ms);
    const end = Math.min(whole, Date.parse(place.end) - stretch.start_ms);
    if (end > start) bars.push({ job, left: start / whole, width: (end - start) / whole, start: place.start, changed: job.changes });
  }
  return bars.sort((one, other) => one.left - other.left);
}

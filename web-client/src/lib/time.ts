// Times as people read them.
// Belongs here: formatting in a named zone. Does not belong here: the current time, which
// is passed in.

const MINUTE_MS = 60_000;
const HOUR_MS = 60 * MINUTE_MS;
const DAY_MS = 24 * HOUR_MS;

/** "Sat 14:30" in the zone, with the zone's name when the reader's own clock differs. */
export function clock(at: string, zone: string): string {
  const date = new Date(at);
  const text = new Intl.DateTimeFormat('en-GB', { timeZone: zone, weekday: 'short', hour: '2-digit', minute: '2-digit' }).format(date);
  return elsewhere(date, zone) ? `${text} ${zoneName(date, zone)}` : text;
}

export function hour(at: string | number, zone: string): string {
  return new Intl.DateTimeFormat('en-GB', { timeZone: zone, hour: '2-digit', minute: '2-digit' }).format(new Date(at));
}

export function day(at: string | number, zone: string): string {
  return new Intl.DateTimeFormat('en-GB', { timeZone: zone, weekday: 'short', day: 'numeric', month: 'short' }).format(new Date(at));
}

export function stamp(at: string, zone: string): string {
  return new Intl.DateTimeFormat('en-GB', { timeZone: zone, day: 'numeric', month: 'short', hour: '2-digit', minute: '2-digit' }).format(new Date(at));
}

/** A calendar date ("2026-11-28"), which has no zone: "28 Nov 2026". */
export function date(text: string): string {
  return new Intl.DateTimeFormat('en-GB', { timeZone: 'UTC', day: 'numeric', month: 'short', year: 'numeric' }).format(new Date(`${text}T00:00:00Z`));
}

/** The calendar date in the zone: "2026-11-28". */
export const today = (now_ms: number, zone: string): string => instantToWall(now_ms, zone).slice(0, 10);

/** Whole years between two calendar dates. */
export function years(from: string, to: string): number {
  const whole = Number(to.slice(0, 4)) - Number(from.slice(0, 4));
  return Math.max(0, to.slice(5) < from.slice(5) ? whole - 1 : whole);
}

/** "14:30 to 16:00", with the day when it is not today. */
export function span(start: string | null, end: string | null, zone: string, now_ms: number): string {
  if (!start) return 'no time promised';
  const when = day(start, zone) === day(now_ms, zone) ? hour(start, zone) : `${day(start, zone)}, ${hour(start, zone)}`;
  return end ? `${when} to ${hour(end, zone)}` : `from ${when}`;
}

/** "12 min ago", "3 h ago", "2 days ago". */
export function ago(at: string, now_ms: number): string {
  const past = now_ms - Date.parse(at);
  if (past < MINUTE_MS) return 'just now';
  if (past < HOUR_MS) return `${Math.floor(past / MINUTE_MS)} min ago`;
  if (past < DAY_MS) return `${Math.floor(past / HOUR_MS)} h ago`;
  const days = Math.floor(past / DAY_MS);
  return days === 1 ? 'yesterday' : `${days} days ago`;
}

/** Time left until an instant: "2 min 40 s", "1 h 5 min", "a moment" once it has come. */
export function countdown(at: string, now_ms: number): string {
  const left_s = Math.ceil((Date.parse(at) - now_ms) / 1000);
  if (left_s <= 0) return 'a moment';
  const [hours, minutes, seconds] = [Math.floor(left_s / 3600), Math.floor(left_s / 60) % 60, left_s % 60];
  if (hours) return `${hours} h ${minutes} min`;
  return minutes ? `${minutes} min ${String(seconds).padStart(2, '0')} s` : `${seconds} s`;
}

/** Minutes the zone is ahead of UTC at that moment. */
export function offset_min(at: Date, zone: string): number {
  const parts = new Intl.DateTimeFormat('en-US', {
    timeZone: zone, hourCycle: 'h23', year: 'numeric', month: 'numeric', day: 'numeric', hour: 'numeric', minute: 'numeric',
  }).formatToParts(at);
  const part = (type: string): number => Number(parts.find((candidate) => candidate.type === type)?.value);
  const wall = Date.UTC(part('year'), part('month') - 1, part('day'), part('hour'), part('minute'));
  // The wall clock was read to the minute, so the instant is too: half a minute must not round up.
  return Math.round((wall - Math.floor(at.getTime() / MINUTE_MS) * MINUTE_MS) / MINUTE_MS);
}

/** A wall-clock time ("2026-11-28T14:30") in the zone, as an instant. */
export function wallToInstant(wall: string, zone: string): string {
  const asUtc = Date.parse(`${wall}:00Z`);
  // Twice, because the offset belongs to the instant and not to the wall-clock reading.
  const first = asUtc - offset_min(new Date(asUtc), zone) * MINUTE_MS;
  return new Date(asUtc - offset_min(new Date(first), zone) * MINUTE_MS).toISOString();
}

/** The instant as the value of a datetime-local field in the zone. */
export function instantToWall(at: string | number, zone: string): string {
  const date = new Date(at);
  return new Date(date.getTime() + offset_min(date, zone) * MINUTE_MS).toISOString().slice(0, 16);
}

function elsewhere(at: Date, zone: string): boolean {
  return offset_min(at, zone) !== -at.getTimezoneOffset();
}

function zoneName(at: Date, zone: string): string {
  return new Intl.DateTimeFormat('en-GB', { timeZone: zone, timeZoneName: 'short' }).formatToParts(at).find((part) => part.type === 'timeZoneName')?.value ?? zone;
}

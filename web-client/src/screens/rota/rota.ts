// What the rota's cells and lists say.
// Belongs here: words and order of entries on days. Does not belong here: drawing them, and what
// may be changed, which the server says.
import { dateAfter, dateOf } from '../board/hours';
import { day as dayWords, hour } from '../../lib/time';
import type { DutyKind, RotaDay, RotaEntry, Uuid } from '../../lib/wire';

export const kindWord: Record<DutyKind, string> = { shift: 'Shift', on_call: 'On call', second: 'Second rota', leave: 'Leave' };

/** The shape before the word: filled for work, hollow for what may become it, a line for away. */
export const kindShape: Record<DutyKind, string> = { shift: '■', on_call: '◆', second: '◇', leave: '▬' };

/** What an entry is on one day: "08:00 to 17:00", "from 17:00", "until 08:00", "all day". */
export function hoursOn(entry: RotaEntry, day: RotaDay, zone: string): string {
  const begins = Date.parse(entry.start) >= Date.parse(day.start);
  const ends = Date.parse(entry.end) <= Date.parse(day.end);
  if (begins && ends) {
    const whole = entry.start === day.start && entry.end === day.end;
    return whole ? 'all day' : `${hour(entry.start, zone)} to ${ends && entry.end === day.end ? '24:00' : hour(entry.end, zone)}`;
  }
  if (begins) return entry.start === day.start ? 'all day' : `from ${hour(entry.start, zone)}`;
  if (ends) return entry.end === day.end ? 'all day' : `until ${hour(entry.end, zone)}`;
  return 'all day';
}

/** The entries that meet a day, in order; a morning of the night before comes first. */
export function on(entries: RotaEntry[], day: RotaDay, person_id?: Uuid): RotaEntry[] {
  return entries.filter((entry) => (!person_id || entry.person.id === person_id) && Date.parse(entry.start) < Date.parse(day.end) && Date.parse(entry.end) > Date.parse(day.start));
}

/** "Fri 27 Nov, 17:00 to Sat 28 Nov, 08:00", the day once where it is one. */
export function spanWords(start: string, end: string, zone: string): string {
  const [from, to] = [dayWords(start, zone), dayWords(end, zone)];
  return from === to ? `${from}, ${hour(start, zone)} to ${hour(end, zone)}` : `${from}, ${hour(start, zone)} to ${to}, ${hour(end, zone)}`;
}

export interface Stretch {
  kind: DutyKind;
  start: string;
  end: string;
  entries: RotaEntry[];
}

/** Somebody's entries from now on, those of one kind that touch as one. */
export function stretches(entries: RotaEntry[], person_id: Uuid, now_ms: number): Stretch[] {
  const out: Stretch[] = [];
  const mine = entries.filter((entry) => entry.person.id === person_id && Date.parse(entry.end) > now_ms);
  for (const entry of mine.toSorted((a, b) => Date.parse(a.start) - Date.parse(b.start))) {
    const last = out.at(-1);
    if (last && last.kind === entry.kind && last.end === entry.start) {
      last.end = entry.end;
      last.entries.push(entry);
    } else out.push({ kind: entry.kind, start: entry.start, end: entry.end, entries: [entry] });
  }
  return out;
}

/** The Monday of the week that an instant lies in, in the zone. */
export function mondayOf(now_ms: number, zone: string): string {
  const date = dateOf(now_ms, zone);
  const weekday = (new Date(`${date}T00:00:00Z`).getUTCDay() + 6) % 7;
  return dateAfter(date, -weekday);
}

/** The days with the coming weekend, holidays beside it included, before the others. */
export function weekendFirst(days: RotaDay[], today: string): { weekend: RotaDay[]; others: RotaDay[] } {
  const ahead = days.findIndex((day) => day.weekend && day.date >= today);
  const from = ahead < 0 ? days.findIndex((day) => day.weekend) : ahead;
  if (from < 0) return { weekend: [], others: days };
  let to = from;
  while (days[to]?.weekend) to += 1;
  return { weekend: days.slice(from, to), others: [...days.slice(0, from), ...days.slice(to)] };
}

/** "12.5 h", "3", without a nought behind the point. */
export const amount = (value: number): string => String(Math.round(value * 10) / 10);

/** Minutes after midnight as "08:00" and back; nothing where it is no time. */
export const minutesOf = (text: string): number | null => {
  const found = /^(\d{1,2}):(\d{2})$/.exec(text.trim());
  if (!found) return null;
  const minutes = Number(found[1]) * 60 + Number(found[2]);
  return Number(found[2]) < 60 && minutes <= 1440 ? minutes : null;
};
export const clockOf = (minutes: number): string => `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;

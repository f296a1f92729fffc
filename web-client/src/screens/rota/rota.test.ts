// What the cells and lists of the rota say.
// Belongs here: rota.ts. Does not belong here: drawing.
import { expect, it } from 'vitest';
import type { DutyKind, RotaDay, RotaEntry } from '../../lib/wire';
import { clockOf, hoursOn, minutesOf, mondayOf, on, spanWords, stretches, weekendFirst } from './rota';

const ZONE = 'Europe/Oslo';
const entry = (id: string, who: string, kind: DutyKind, start: string, end: string): RotaEntry => ({ id, person_id: who, person: { id: who, name: who }, kind, start, end, note: '' });
const day = (date: string, start: string, end: string, weekend = false, holiday: string | null = null): RotaDay => ({ date, start, end, weekend, holiday, open: [] });
const saturday = day('2026-12-05', '2026-12-04T23:00:00Z', '2026-12-05T23:00:00Z', true);

it('says the part of a duty that lies on the day', () => {
  const hours = (start: string, end: string): string => hoursOn(entry('e', 'bo', 'on_call', start, end), saturday, ZONE);
  expect(hours('2026-12-05T07:00:00Z', '2026-12-05T16:00:00Z')).toBe('08:00 to 17:00');
  expect(hours('2026-12-04T16:00:00Z', '2026-12-07T07:00:00Z')).toBe('all day');
  expect(hours('2026-12-04T16:00:00Z', '2026-12-05T07:00:00Z')).toBe('until 08:00');
  expect(hours('2026-12-05T16:00:00Z', '2026-12-06T07:00:00Z')).toBe('from 17:00');
  expect(hours('2026-12-05T16:00:00Z', '2026-12-05T23:00:00Z')).toBe('17:00 to 24:00');
  expect(hours('2026-12-04T23:00:00Z', '2026-12-05T23:00:00Z')).toBe('all day');
});

it('finds what meets a day, and not what only touches it', () => {
  const all = [entry('a', 'bo', 'shift', '2026-12-04T07:00:00Z', '2026-12-04T23:00:00Z'), entry('b', 'bo', 'on_call', '2026-12-05T07:00:00Z', '2026-12-05T08:00:00Z'), entry('c', 'cy', 'leave', '2026-12-01T07:00:00Z', '2026-12-09T08:00:00Z')];
  expect(on(all, saturday).map((one) => one.id)).toEqual(['b', 'c']);
  expect(on(all, saturday, 'cy').map((one) => one.id)).toEqual(['c']);
});

it('joins what touches and leaves out what is over', () => {
  const all = [
    entry('b', 'bo', 'on_call', '2026-12-05T07:00:00Z', '2026-12-06T07:00:00Z'),
    entry('a', 'bo', 'on_call', '2026-12-04T16:00:00Z', '2026-12-05T07:00:00Z'),
    entry('d', 'bo', 'shift', '2026-12-06T07:00:00Z', '2026-12-06T15:00:00Z'),
    entry('x', 'bo', 'shift', '2026-12-01T07:00:00Z', '2026-12-01T15:00:00Z'),
    entry('y', 'cy', 'shift', '2026-12-08T07:00:00Z', '2026-12-08T15:00:00Z'),
  ];
  const found = stretches(all, 'bo', Date.parse('2026-12-02T00:00:00Z'));
  expect(found.map((one) => one.entries.map((each) => each.id).join())).toEqual(['a,b', 'd']);
  expect(spanWords(found[0]!.start, found[0]!.end, ZONE)).toBe('Fri 4 Dec, 17:00 to Sun 6 Dec, 08:00');
  expect(spanWords(found[1]!.start, found[1]!.end, ZONE)).toBe('Sun 6 Dec, 08:00 to 16:00');
});

it('puts the coming weekend first, with a holiday beside it', () => {
  const days = ['2026-12-21', '2026-12-22', '2026-12-23', '2026-12-24', '2026-12-25', '2026-12-26', '2026-12-27'].map((date) => day(date, '', '', date >= '2026-12-25', date === '2026-12-25' ? 'Christmas Day' : null));
  const { weekend, others } = weekendFirst(days, '2026-12-22');
  expect(weekend.map((one) => one.date)).toEqual(['2026-12-25', '2026-12-26', '2026-12-27']);
  expect(others).toHaveLength(4);
  expect(weekendFirst(days.slice(0, 3), '2026-12-22').weekend).toEqual([]);
});

it('knows the Monday by the wall of the shop', () => {
  expect(mondayOf(Date.parse('2026-11-29T23:30:00Z'), ZONE)).toBe('2026-11-30');
  expect(mondayOf(Date.parse('2026-11-29T23:30:00Z'), 'America/Denver')).toBe('2026-11-23');
});

it('reads and writes times of day', () => {
  expect([minutesOf('8:30'), minutesOf('24:00'), minutesOf('24:01'), minutesOf('8.30'), minutesOf('07:60')]).toEqual([510, 1440, null, null, null]);
  expect(clockOf(510)).toBe('08:30');
});

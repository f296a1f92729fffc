// What the band's shapes promise.
import { expect, test } from 'vitest';
import type { CapacityHour, CapacityOutlook } from '../../lib/wire';
import { bandOf, crossings, HOUR_PX, spanWords, waitWords } from './band';

const hourAt = (at: number, crosses: string, load = 1): CapacityHour => ({
  at: new Date(Date.UTC(2026, 10, 27, 22 + at)).toISOString(),
  load, load_low: load / 2, load_high: load * 2, usual: 1, supply: 1, on_call_left: 1, second: 0, late: 0, crosses,
});

test('hours side by side are one crossing, and sure ones are told apart', () => {
  const hours = ['no', 'may', 'may', 'will', 'no', 'may'].map((crosses, at) => hourAt(at, crosses));
  expect(crossings(hours)).toEqual([
    { from: 1, to: 3, sure: false },
    { from: 3, to: 4, sure: true },
    { from: 5, to: 6, sure: false },
  ]);
});

test('rules at the same hour stand below each other, in the order of their time', () => {
  const rule = (name: string, minutes: number): object => ({ rule_id: name, name, does: [], share: 0.5, at: new Date(Date.UTC(2026, 10, 27, 22, minutes)).toISOString() });
  const outlook = { start: new Date(Date.UTC(2026, 10, 27, 22)).toISOString(), hours: Array.from({ length: 8 }, (_, at) => hourAt(at, 'no')), rules: [rule('b', 130), rule('a', 120), rule('c', 330)] } as unknown as CapacityOutlook;
  const { marks, days, width } = bandOf(outlook, 'UTC');
  expect(marks.map((mark) => [mark.rule.name, mark.number, mark.row])).toEqual([['a', 1, 0], ['b', 2, 1], ['c', 3, 0]]);
  expect(marks[0]?.x).toBe(2 * HOUR_PX);
  expect(days.map((one) => one.x)).toEqual([0, 2 * HOUR_PX]);
  expect(width).toBe(240);
});

test('waits and spans are said as people say them', () => {
  expect([45, 90, 120, 1440, 2880, 2700].map(waitWords)).toEqual(['45 min', '1 h 30', '2 h', '1 day', '2 days', '45 h']);
  expect(spanWords('2026-11-28T16:00:00Z', '2026-11-28T20:00:00Z', 'UTC')).toBe('Sat 16:00 to 20:00');
});

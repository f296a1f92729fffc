import { describe, expect, test } from 'vitest';
import type { BoardJob } from '../../lib/wire';
import { dayOf, freeFrom, freeOnDuty, HOUR_MS, snap, spanOf, weekendOf } from './hours';

const ZONE = 'America/Denver';

describe('days', () => {
  test('the nights on which the clocks change make a day of 23 and one of 25 hours', () => {
    const hours = (date: string): number => (spanOf(date, ZONE).end_ms - spanOf(date, ZONE).start_ms) / HOUR_MS;
    expect([hours('2027-03-13'), hours('2027-03-14'), hours('2027-11-07')]).toEqual([24, 23, 25]);
  });

  test('a weekend is the one that is, or the next', () => {
    expect(weekendOf('2027-01-08')).toEqual(['2027-01-09', '2027-01-10']);
    expect(weekendOf('2027-01-09')).toEqual(['2027-01-09', '2027-01-10']);
    expect(weekendOf('2027-01-10')).toEqual(['2027-01-09', '2027-01-10']);
    expect(weekendOf('2027-01-11')).toEqual(['2027-01-16', '2027-01-17']);
  });
});

describe('bars', () => {
  const span = spanOf('2027-01-09', 'UTC');
  const at = (hour: number): string => new Date(span.start_ms + hour * HOUR_MS).toISOString();
  const job = (number: number, planned: [number, number] | null, promised: [number, number] | null): BoardJob => ({
    id: String(number), number, state: 'assigned', assigned_to: { id: 'p', name: 'P' },
    planned_start: planned && at(planned[0]), planned_end: planned && at(planned[1]), window_start: promised && at(promised[0]), window_end: promised && at(promised[1]),
  }) as BoardJob;

  test('the plan is drawn where there is one, the promise otherwise and as a mark beside it', () => {
    const day = dayOf([job(1, [10, 12], [8, 14]), job(2, null, [15, 17]), job(3, null, null)], span);
    const { bars } = day.bars('p');
    expect(day.hours[0]).toBe(7);
    expect(bars.map((bar) => bar.job.number)).toEqual([1, 2]);
    expect(bars[0]!.left).toBeCloseTo(3 / 13);
    expect(bars[0]!.width).toBeCloseTo(2 / 13);
    expect(bars[0]!.promised!.left).toBeCloseTo(1 / 13);
  });

  test('what overlaps lies in lanes of its own, and an early job widens the day', () => {
    const day = dayOf([job(1, [5, 9], null), job(2, [8, 10], null), job(3, [9, 11], null)], span);
    expect(day.hours[0]).toBe(5);
    const { bars, lanes } = day.bars('p');
    expect([lanes, ...bars.map((bar) => bar.lane)]).toEqual([2, 0, 1, 0]);
  });
});

describe('room', () => {
  const day = [{ start: 0, end: 60 }, { start: 240, end: 300 }, { start: 90, end: 150 }];
  test('a gap that is long enough is taken and a shorter one is not', () => {
    expect([freeFrom(day, 0, 30), freeFrom(day, 0, 31), freeFrom(day, 0, 91), freeFrom(day, 160, 60), freeFrom([], 5, 60)]).toEqual([60, 150, 300, 160, 5]);
  });
  test('room is looked for while they are on duty, and anywhere when there is none', () => {
    const quarter = 15 * 60_000;
    const taken = [{ start: 8 * quarter, end: 10 * quarter }];
    const duty = [{ start_ms: 8 * quarter, end_ms: 12 * quarter }, { start_ms: 20 * quarter, end_ms: 30 * quarter }];
    expect(freeOnDuty(taken, duty, 0, quarter)).toBe(10 * quarter);
    expect(freeOnDuty(taken, duty, 12 * quarter, quarter)).toBe(20 * quarter);
    expect(freeOnDuty(taken, [], 3 * quarter, quarter)).toBe(3 * quarter);
    expect(freeOnDuty(taken, null, 8 * quarter, quarter)).toBe(10 * quarter);
  });
  test('moves go by quarters of an hour', () => {
    expect(snap(7 * 60_000)).toBe(0);
    expect(snap(8 * 60_000)).toBe(15 * 60_000);
  });
});

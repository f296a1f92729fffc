import { describe, expect, it } from 'vitest';
import type { Plan, PlanJob } from '../../lib/wire';
import { barsOf, daysOf, lengthWords, spanOf, stretchOf } from './plan';

const ZONE = 'America/Denver';
const at = (text: string): number => Date.parse(text);

describe('what is asked for', () => {
  it('is the rest of the day, or the whole next one', () => {
    // 10:00 on Thursday in the shop's zone.
    const now = at('2026-11-26T17:00:00Z');
    expect(spanOf('today', now, ZONE)).toEqual({ from: '2026-11-26T17:00:00.000Z', until: '2026-11-27T07:00:00.000Z' });
    expect(spanOf('tomorrow', now, ZONE)).toEqual({ from: '2026-11-27T07:00:00.000Z', until: '2026-11-28T07:00:00.000Z' });
  });
  it('is the weekend to come, or the one that is', () => {
    const monday = '2026-11-30T14:00:00.000Z';
    expect(spanOf('weekend', at('2026-11-26T17:00:00Z'), ZONE)).toEqual({ from: '2026-11-28T00:00:00.000Z', until: monday });
    expect(spanOf('weekend', at('2026-11-29T20:00:00Z'), ZONE)).toEqual({ from: '2026-11-29T20:00:00.000Z', until: monday });
    expect(spanOf('weekend', at('2026-11-30T13:59:00Z'), ZONE).until).toBe(monday);
    expect(spanOf('weekend', at('2026-11-30T14:00:00Z'), ZONE).until).toBe('2026-12-07T14:00:00.000Z');
  });
  it('keeps to the wall clock where the clock is put back', () => {
    // 1 November 2026 has 25 hours there.
    const { from, until } = spanOf('tomorrow', at('2026-10-31T18:00:00Z'), ZONE);
    expect(at(until) - at(from)).toBe(25 * 3_600_000);
  });
});

const job = (number: number, person_id: string, start: string, end: string): PlanJob => ({
  id: `j${number}`, number, customer_name: 'Quill', town: 'Fernwick', urgency: 'comfort', pinned: false, kind: 'moved', why: '',
  before: null, after: { person_id, start, end, drive_min: 5 }, changes: true, taken: false, changed_since: false,
});
const plan = (jobs: PlanJob[]): Plan => ({
  id: 'p', asked_by_name: 'Pia', mine: true, asked_at: '2026-11-28T15:00:00Z', from: '2026-11-28T15:00:00Z', until: '2026-11-30T14:00:00Z', state: 'open',
  people: [{ id: 'a', name: 'Ada', duty: [], pauses: [], quarter: null, driven_min: [0, 5], work_min: [0, 60] }],
  jobs, before: { driven_min: 0, placed: 0, without: 1, broken: 0 }, after: { driven_min: 5, placed: 1, without: 0, broken: 0 }, waits: [], notes: [], takings: [],
});

describe('a day as bars', () => {
  it('knows its days', () => {
    expect(daysOf(plan([]), ZONE)).toEqual(['2026-11-28', '2026-11-29', '2026-11-30']);
  });
  it('puts a job at its hour and into its own day only', () => {
    const one = plan([job(1, 'a', '2026-11-28T19:00:00Z', '2026-11-28T21:00:00Z'), job(2, 'b', '2026-11-28T19:00:00Z', '2026-11-28T20:00:00Z'), job(3, 'a', '2026-11-29T19:00:00Z', '2026-11-29T20:00:00Z')]);
    const stretch = stretchOf(one, '2026-11-28', ZONE);
    const bars = barsOf(one, 'a', 'after', stretch);
    expect(bars.map((bar) => bar.job.number)).toEqual([1]);
    expect(stretch.start_ms + bars[0]!.left * stretch.hours * 3_600_000).toBe(at('2026-11-28T19:00:00Z'));
    expect(bars[0]!.width * stretch.hours).toBeCloseTo(2);
    expect(barsOf(one, 'a', 'before', stretch)).toEqual([]);
  });
});

it('says lengths as the server does', () => {
  expect([0, 59, 60, 185].map(lengthWords)).toEqual(['0 min', '59 min', '1 h 00 min', '3 h 05 min']);
});

import { describe, expect, test } from 'vitest';
import type { BoardJob } from '../../lib/wire';
import { FILTER_EMPTY, isOn, late, length, matches, newer, order, query } from './rows';

const NOON = Date.parse('2027-01-09T12:00:00Z');
const at = (hours: number): string => new Date(NOON + hours * 3_600_000).toISOString();

function job(more: Partial<BoardJob> = {}): BoardJob {
  return {
    id: 'a', number: 1, urgency: 'comfort', state: 'open', complaint: 'Hums and trips', customer_name: 'Orsolya Quill', town: 'Fernwick', zone: 'UTC',
    unit_label: 'heat pump', assigned_to: null, window_start: null, window_end: null, planned_start: null, planned_end: null, required: [], vulnerable: false,
    work: 'diagnosis', expected_min: 90, not_before: null, request: null, readings_count: 0, last_change_at: at(-1), version: 1, ...more,
  };
}

describe('the order of the telephone', () => {
  test('ended last, then urgency, promised time, number', () => {
    const jobs = [
      job({ number: 1, state: 'done', urgency: 'no_heat_vulnerable' }),
      job({ number: 2 }),
      job({ number: 3, window_start: at(3), window_end: at(4) }),
      job({ number: 4, window_start: at(1), window_end: at(9) }),
      job({ number: 5, urgency: 'water' }),
      job({ number: 6 }),
    ];
    expect([...jobs].sort(order).map(({ number }) => number)).toEqual([5, 4, 3, 2, 6, 1]);
  });
});

describe('what is in view', () => {
  test('mine is what I have and what waits for a reader', () => {
    const mine = { ...FILTER_EMPTY, whose: 'mine' as const };
    expect(matches(job({ assigned_to: { id: 'me', name: 'Me' } }), mine, 'me')).toBe(true);
    expect(matches(job({ request: { id: 'r', state: 'ready', stage_words: '' } }), mine, 'me')).toBe(true);
    expect(matches(job({ assigned_to: { id: 'other', name: 'Other' } }), mine, 'me')).toBe(false);
  });

  test('not given is open and nobody’s', () => {
    const free = { ...FILTER_EMPTY, whose: 'free' as const };
    expect(matches(job(), free, 'me')).toBe(true);
    expect(matches(job({ state: 'done' }), free, 'me')).toBe(false);
    expect(matches(job({ state: 'cancelled' }), FILTER_EMPTY, 'me')).toBe(false);
  });

  test('every word must be there, in any case', () => {
    expect(matches(job(), { ...FILTER_EMPTY, text: 'QUILL trips' }, 'me')).toBe(true);
    expect(matches(job(), { ...FILTER_EMPTY, text: 'quill leaks' }, 'me')).toBe(false);
    // Found by a telephone number, which is not in the row; but not where the rest no longer matches.
    expect(matches(job(), { ...FILTER_EMPTY, text: '0142' }, 'me', true)).toBe(true);
    expect(matches(job(), { ...FILTER_EMPTY, text: '0142', urgency: 'water' }, 'me', true)).toBe(false);
  });

  test('the server is asked for the same', () => {
    expect(query(FILTER_EMPTY).toString()).toBe('');
    expect(query({ whose: 'free', urgency: 'water', person: null, text: ' kiln ' }).toString()).toBe('person=nobody&urgency=water&q=kiln');
    expect(query({ ...FILTER_EMPTY, whose: 'free', person: 'p1' }).get('person')).toBe('p1');
  });
});

describe('a row that comes later', () => {
  test('an older one never replaces a newer one', () => {
    const old = job({ version: 3 });
    expect(newer(old, job({ version: 2, number: 9 }))).toBeNull();
    expect(newer(old, job({ version: 3, last_change_at: at(-2) }))).toBeNull();
    expect(newer(old, job({ version: 4 }))?.version).toBe(4);
  });

  test('my own draft stays, since the stream shows nobody’s', () => {
    const draft = { id: 'r', state: 'draft' as const, stage_words: 'draft' };
    expect(newer(job({ request: draft }), job({ version: 2 }))?.request).toEqual(draft);
    expect(newer(job({ request: { ...draft, state: 'ready' } }), job({ version: 2 }))?.request).toBeNull();
  });
});

describe('days and lateness', () => {
  test('a job is on a day that it touches, and not on one that it only meets', () => {
    const planned = job({ planned_start: at(-2), planned_end: at(0) });
    expect(isOn(planned, NOON - 3_600_000, NOON + 3_600_000)).toBe(true);
    expect(isOn(planned, NOON, NOON + 3_600_000)).toBe(false);
    expect(isOn(job({ window_start: at(0), window_end: at(1) }), NOON, NOON + 1)).toBe(true);
  });

  test('late is said in words, and nothing of what is in time, begun or over', () => {
    expect(late(job({ window_start: at(-3), window_end: at(-1.5) }), NOON, 'UTC')).toBe('Late: the promised time passed 1 h 30 min ago');
    expect(late(job({ state: 'assigned', planned_start: at(-0.5), planned_end: at(1) }), NOON, 'UTC')).toBe('Late: was to begin 30 min ago');
    expect(late(job({ window_start: at(1), window_end: at(2), planned_start: at(3), planned_end: at(4) }), NOON, 'UTC')).toMatch(/^Planned after what was promised, 13:00 to 14:00/);
    for (const state of ['on_site', 'waiting', 'done', 'cancelled'] as const) expect(late(job({ state, window_start: at(-3), window_end: at(-1) }), NOON, 'UTC')).toBeNull();
    expect(late(job({ state: 'assigned', planned_start: at(-0.2), planned_end: at(1) }), NOON, 'UTC')).toBeNull();
  });

  test('lengths are told in the two largest parts', () => {
    expect([0, 59, 60, 65, 2879, 2880].map((minutes) => length(minutes * 60_000))).toEqual(['1 min', '59 min', '1 h', '1 h 5 min', '47 h 59 min', '2 days']);
  });
});

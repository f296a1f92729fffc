import { describe, expect, test } from 'vitest';
import type { BoardJob, StandingLadder } from '../../lib/wire';
import { marksOf } from './marks';

const NOW = Date.parse('2027-01-09T10:00:00Z');
const job = (more: Partial<BoardJob> = {}): BoardJob => ({ id: 'j', number: 7, state: 'assigned', not_before: null, ...more }) as BoardJob;
const ladder = (more: Partial<StandingLadder> = {}): StandingLadder => ({ job_id: 'j', kind: 'urgent_job', next_at: '2027-01-09T10:04:30Z', next_words: 'the next two are asked as well', held: false, asks_me: false, ...more }) as StandingLadder;
const kinds = (marks: { kind: string }[]): string[] => marks.map((mark) => mark.kind);

describe('marks on a bar', () => {
  test('a bar on which nothing stands has none, and neither has one that is over', () => {
    expect(marksOf(job(), null, [], NOW, 'UTC')).toEqual([]);
    for (const state of ['done', 'cancelled'] as const) {
      expect(marksOf(job({ state, not_before: '2027-01-11T08:00:00Z' }), '2027-01-11T08:00:00Z', [ladder()], NOW, 'UTC')).toEqual([]);
    }
  });

  test('put off, held over and climbing are three marks, each with its time in words', () => {
    const marks = marksOf(job({ not_before: '2027-01-11T08:00:00Z' }), '2027-01-12T09:00:00Z', [ladder()], NOW, 'UTC');
    expect(kinds(marks)).toEqual(['put_off', 'held_over', 'ladder']);
    expect(marks.map((mark) => mark.short)).toEqual(['from Mon 08:00', 'to Tue 09:00', '4 min 30 s']);
    expect(marks[2]!.words).toBe('urgent job nobody has: in 4 min 30 s the next two are asked as well');
  });

  test('a time that has come puts nothing off any more', () => {
    expect(marksOf(job({ not_before: '2027-01-09T10:00:00Z' }), null, [], NOW, 'UTC')).toEqual([]);
    expect(kinds(marksOf(job({ not_before: '2027-01-09T10:00:01Z' }), null, [], NOW, 'UTC'))).toEqual(['put_off']);
  });

  test('a ladder says that it keeps quiet, or that nobody is left to ask', () => {
    const [quiet, last] = marksOf(job(), null, [ladder({ held: true, kind: 'approval' }), ladder({ next_at: null })], NOW, 'UTC');
    expect(quiet!.words).toBe('approval that waits: quiet hours until Sat 10:04, then the next two are asked as well');
    expect(last!.short).toBe('all asked');
  });
});

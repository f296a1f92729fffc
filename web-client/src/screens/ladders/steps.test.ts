// Words and minutes of steps.
import { expect, test } from 'vitest';
import type { Person } from '../../lib/wire';
import { groupsFor, hhmm, minutesOf, stepWords, whoNew } from './steps';

const people = [{ id: 'a', name: 'Ana' }] as Person[];

test('minutes read as a clock shows them, and back', () => {
  for (const minutes of [0, 59, 60, 1290, 1439]) expect(minutesOf(hhmm(minutes))).toBe(minutes);
  expect(hhmm(1290)).toBe('21:30');
  expect(minutesOf('')).toBe(0);
});

test('a step says whom it reaches and how', () => {
  const who = [{ group: 'next', count: 2 } as const, { group: 'person', person_id: 'a' } as const, { group: 'managers' } as const];
  expect(stepWords({ after_min: 5, who, how: 'mail' }, 'urgent_job', people)).toBe('the next 2, Ana, the managers, on open pages and by mail');
  expect(stepWords({ after_min: 5, who: [{ group: 'person', person_id: 'gone' }], how: 'live' }, 'urgent_job', people)).toBe('somebody who has left, on open pages only');
});

test('a delegate answers for money only, and money asks nobody by place', () => {
  expect(groupsFor('urgent_job')).not.toContain('delegate');
  expect(groupsFor('approval')).toContain('delegate');
  expect(groupsFor('approval')).not.toContain('best');
  expect(whoNew('person', people)).toEqual({ group: 'person', person_id: 'a' });
});

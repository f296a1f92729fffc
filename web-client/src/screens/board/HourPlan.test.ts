// The plan of a day with what stands on its jobs.
// Belongs here: that a bar shows and says it. Does not belong here: where a bar lies (hours.test.ts).
import { render, screen } from '@testing-library/svelte';
import { expect, it, vi } from 'vitest';
import type { BoardJob, Standing } from '../../lib/wire';
import type { Carry } from './carry.svelte';
import HourPlan from './HourPlan.svelte';
import { HOUR_MS, spanOf } from './hours';

const standing = vi.hoisted(() => ({ now: { ladders: [], deferred: [] } as Standing }));
vi.mock('../../lib/api', () => ({ get: vi.fn(async () => standing.now), post: vi.fn(), remove: vi.fn(), open: vi.fn(), renew: vi.fn(), tokenSet: vi.fn(), signedOutHandler: vi.fn(), keyNew: () => 'key' }));

it('each bar carries what stands on its job, in shapes and in words', async () => {
  const date = spanOf(new Date().toISOString().slice(0, 10), 'UTC');
  const at = (hour: number): string => new Date(date.start_ms + hour * HOUR_MS).toISOString();
  const monday = new Date(Date.now() + 100 * HOUR_MS).toISOString();
  const job = (number: number, more: Partial<BoardJob> = {}): BoardJob => ({
    id: `job-${number}`, number, complaint: 'Too warm', urgency: 'comfort', state: 'assigned', town: 'Sedge', zone: 'UTC', not_before: null, request: null,
    assigned_to: { id: 'p', name: 'Perrin' }, planned_start: at(9), planned_end: at(11), window_start: null, window_end: null, ...more,
  }) as BoardJob;
  standing.now = {
    ladders: [{ job_id: 'job-3', kind: 'urgent_job', next_at: new Date(Date.now() + 40 * 60_000).toISOString(), next_words: 'the next two are asked as well', held: false, asks_me: false }],
    deferred: [{ job_id: 'job-2', until: monday }],
  };
  const jobs = [job(1, { not_before: monday }), job(2), job(3), job(4)];
  const carry = { job: null, person: null } as unknown as Carry;
  render(HourPlan, { jobs, people: [{ id: 'p', name: 'Perrin' }] as never, zone: 'UTC', date, duty: [], carry, onopen: vi.fn() });

  const bar = async (number: number, says: RegExp): Promise<string[]> => {
    const button = await screen.findByRole('button', { name: says }, { timeout: 10_000 });
    expect(button).toHaveAttribute('data-bar', `job-${number}`);
    return [...button.querySelectorAll('[data-mark]')].map((mark) => mark.getAttribute('data-mark')!);
  };
  expect(await bar(1, /Job 1, .*put off: nobody need go before/)).toEqual(['put_off']);
  expect(await bar(2, /Job 2, .*held over until .*the site makes do until then/)).toEqual(['held_over']);
  expect(await bar(3, /Job 3, .*urgent job nobody has: in \d+ min .*the next two are asked as well/)).toEqual(['ladder']);
  expect(await bar(4, /Job 4, Too warm/)).toEqual([]);
  const shapes = new Set([...document.querySelectorAll('[data-mark] path')].map((path) => path.getAttribute('d')));
  expect(shapes.size).toBe(3);
}, 40_000);

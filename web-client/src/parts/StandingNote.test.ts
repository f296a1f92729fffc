// What stands on a job, in a row of the board.
// Belongs here: the countdown, quiet hours, a deferral. Does not belong here: the whole ladder.
import { render, screen } from '@testing-library/svelte';
import { expect, it, vi } from 'vitest';
import type { Standing } from '../lib/wire';
import StandingNote from './StandingNote.svelte';

const standing = vi.hoisted(() => ({ now: { ladders: [], deferred: [] } as Standing }));
vi.mock('../lib/api', () => ({ get: vi.fn(async () => standing.now), post: vi.fn(), remove: vi.fn(), open: vi.fn(), renew: vi.fn(), tokenSet: vi.fn(), signedOutHandler: vi.fn(), keyNew: () => 'key' }));

it('counts down to the next step, says until when it is quiet, and when a deferred job comes back', async () => {
  const soon = new Date(Date.now() + 4 * 60_000).toISOString();
  const ladder = { kind: 'urgent_job', next_at: soon, next_words: 'the next two are asked as well', held: false, asks_me: true };
  standing.now = {
    ladders: [{ ...ladder, job_id: 'a' }, { ...ladder, job_id: 'b', held: true, next_at: '2026-11-29T14:00:00Z', asks_me: false }],
    deferred: [{ job_id: 'c', until: '2026-11-30T15:00:00Z' }],
  };
  render(StandingNote, { job_id: 'a', zone: 'UTC' });
  render(StandingNote, { job_id: 'b', zone: 'UTC' });
  render(StandingNote, { job_id: 'c', zone: 'UTC' });
  expect(await screen.findByText(/In .*the next two are asked as well/)).toHaveTextContent(/you are asked\. In (4 min 00|3 min 5\d) s/);
  expect(screen.getByText(/not before Sun 14:00.*quiet hours/)).toBeInTheDocument();
  expect(screen.getByText(/Deferred until/)).toHaveTextContent('Mon 15:00');
});

it('says nothing of a job on which nothing stands', () => {
  const { container } = render(StandingNote, { job_id: 'none', zone: 'UTC' });
  expect(container).toHaveTextContent('');
});

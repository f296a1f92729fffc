// What the search for a reader shows.
// Belongs here: Search.svelte and its countdown. Does not belong here: the order of asking.
import { render, screen } from '@testing-library/svelte';
import { expect, it, vi } from 'vitest';
import { countdown } from '../../lib/time';
import type { CondemnRequest, ReaderAsk } from '../../lib/wire';
import Search from './Search.svelte';

vi.mock('../../lib/api', () => ({ get: vi.fn(), post: vi.fn(), remove: vi.fn(), open: vi.fn(), renew: vi.fn(), tokenSet: vi.fn(), signedOutHandler: vi.fn(), keyNew: () => 'key' }));

const at = (minutes: number): string => new Date(Date.now() + minutes * 60_000).toISOString();
const ask = (name: string, change: Partial<ReaderAsk> = {}): ReaderAsk => ({ person: { id: name, name }, asked_by: null, asked_at: at(-2), answer: null, answered_at: null, reason: '', ...change });
const rungs = [
  { rung: 0, told: [], note: '', skipped_at: null, held_until: null, action: 'ask_best', words: 'the best placed reader is asked', due_at: at(-2), fired_at: at(-2) },
  { rung: 1, told: [], note: '', skipped_at: null, held_until: null, action: 'ask_next', words: 'the next two are asked as well', due_at: at(3), fired_at: null },
  { rung: 2, told: [], note: '', skipped_at: null, held_until: null, action: 'ask_everyone', words: 'everyone qualified is asked and the managers are told', due_at: at(13), fired_at: null },
];

const request = (change: Partial<CondemnRequest>): CondemnRequest =>
  ({ id: 'r', state: 'ready', hidden: null, requester: { id: 'ines', name: 'Ines' }, asks_me: false, asked: [], ladder: { started_at: at(-2), stopped_at: null, next_at: at(3), weekend: false, rungs }, may: [], reads: [], owed: [], version: 1, ...change }) as unknown as CondemnRequest;

it('says who was asked, what they said, and when the next are asked', () => {
  render(Search, { request: request({ asked: [ask('Bo', { answer: 'declined', reason: 'On a roof' }), ask('Cleo')] }), ondone: () => {} });
  expect(screen.getByText(/declined: On a roof/)).toBeInTheDocument();
  expect(screen.getByText(/asked 2 min ago, no answer yet/)).toBeInTheDocument();
  expect(screen.getByRole('list', { name: 'Who is asked when' })).toHaveTextContent(/in (3 min 00|2 min 5\d) s/);
});

it('tells whoever is asked so, and a shop without a reader what is left', () => {
  const { unmount } = render(Search, { request: request({ asks_me: true, asked: [ask('Cleo')] }), ondone: () => {} });
  expect(screen.getByRole('heading', { name: 'You are asked to read this' })).toBeInTheDocument();
  unmount();
  render(Search, { request: request({ asked: [], ladder: null }), ondone: () => {} });
  expect(screen.getByText(/Nobody in this shop can read this one/)).toBeInTheDocument();
});

it('says until when a step waits for quiet hours to end', () => {
  const held = rungs.map((rung) => (rung.rung === 1 ? { ...rung, held_until: '2026-11-29T14:00:00Z', due_at: '2026-11-29T14:00:00Z' } : rung));
  render(Search, { request: request({ asked: [ask('Cleo')], ladder: { started_at: at(-2), stopped_at: null, next_at: at(3), weekend: true, rungs: held } as unknown as CondemnRequest['ladder'] }), ondone: () => {} });
  expect(screen.getByText(/Not before .*: quiet hours\./)).toBeInTheDocument();
  expect(screen.getByText(/by the steps for days on which the shop is closed/)).toBeInTheDocument();
});

it('counts down in the words of a clock', () => {
  const now = Date.parse('2026-11-28T12:00:00Z');
  expect(countdown('2026-11-28T12:02:05Z', now)).toBe('2 min 05 s');
  expect(countdown('2026-11-28T12:00:09Z', now)).toBe('9 s');
  expect(countdown('2026-11-28T13:30:00Z', now)).toBe('1 h 30 min');
  expect(countdown('2026-11-28T11:00:00Z', now)).toBe('a moment');
});

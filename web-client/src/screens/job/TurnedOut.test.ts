// What a job turned out to be promises: said in the circuit's words, kept without signal, and never
// asked for beside an open request.
import { render, screen, waitFor, within } from '@testing-library/svelte';
import userEvent from '@testing-library/user-event';
import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { tokenSet } from '../../lib/api';
import { outbox } from '../../lib/outbox.svelte';
import { session } from '../../lib/session.svelte';
import type { JobDetail, Me, RequestState } from '../../lib/wire';
import { shipped, verdictWith } from '../../test/shipped';
import { canBeSaid, faultsOf, formNew, foundRead, movedBy } from './found';
import TurnedOut from './TurnedOut.svelte';

const circuit = shipped('compressor-1ph-plug');
const job = { id: 'job-1', state: 'done', request: null, site: { zone: 'UTC' } } as unknown as JobDetail;
const asked = vi.fn<typeof fetch>();
const answer = (status: number, body: object) => new Response(JSON.stringify(body), { status, headers: { 'content-type': 'application/json' } });
const posted = () => asked.mock.calls.filter(([, init]) => init?.method === 'POST').map(([path, init]) => [path, JSON.parse(String(init!.body))]);
const word = { id: 'w', was: 'fault', part: 'plug_r', mode: 'open', says: 'plug contact R: open (compressor harness and plug)', how: 'run_test', note: '', by: { id: 'a', name: 'Ada' }, at: '2026-11-28T16:00:00Z' };

beforeEach(async () => {
  vi.stubGlobal('fetch', asked);
  localStorage.clear();
  tokenSet({ access_token: 'token', expires_in_s: 600 });
  session.me = { id: 'a', roles: ['technician'] } as unknown as Me;
  await outbox.open('person-1');
});
afterEach(async () => {
  for (const item of outbox.pending) await outbox.drop(item.key);
  session.me = null;
  asked.mockReset();
  vi.unstubAllGlobals();
});

async function fill(): Promise<void> {
  await userEvent.click(await screen.findByRole('button', { name: 'Say what it was' }));
  const sheet = within(screen.getByRole('dialog'));
  await userEvent.click(sheet.getByRole('radio', { name: 'compressor harness and plug' }));
  await userEvent.selectOptions(sheet.getByLabelText('What had failed'), 'plug contact R: open');
  await userEvent.click(sheet.getByRole('radio', { name: /the complaint is gone/ }));
  await userEvent.click(sheet.getByRole('button', { name: 'Keep this word' }));
}

it('sends a fault in the names of the circuit and shows what the server made of it', async () => {
  asked.mockImplementation(async (_, init) => (init?.method === 'POST' ? answer(201, { words: [word] }) : answer(200, { words: [] })));
  render(TurnedOut, { job, circuit });
  await fill();
  await screen.findByText(word.says);
  expect(screen.getByText(/it ran afterwards, says Ada/)).toBeInTheDocument();
  expect(posted()).toEqual([['/api/jobs/job-1/found', { was: 'fault', part: 'plug_r', mode: 'open', how: 'run_test', note: '' }]]);
  expect(screen.getByRole('button', { name: 'Say otherwise' })).toBeInTheDocument();
});

it('keeps a word while nothing answers, says so, and sends it later', async () => {
  asked.mockImplementation(async (_, init) => {
    if (init?.method === 'POST') throw new TypeError('no network');
    return answer(200, { words: [] });
  });
  render(TurnedOut, { job, circuit });
  await fill();
  await screen.findByText('Your word is kept here, not sent yet.');
  asked.mockImplementation(async () => answer(201, { words: [word] }));
  await outbox.flush();
  await screen.findByText(word.says);
  await waitFor(() => expect(screen.queryByText(/kept here/)).toBeNull());
});

it('says what is missing instead of sending half a word', async () => {
  asked.mockImplementation(async () => answer(200, { words: [] }));
  render(TurnedOut, { job, circuit });
  await userEvent.click(await screen.findByRole('button', { name: 'Say what it was' }));
  await userEvent.click(screen.getByRole('radio', { name: 'Nothing was wrong with it' }));
  expect(screen.queryByRole('radio', { name: /Replaced/ })).toBeNull();
  await userEvent.click(screen.getByRole('button', { name: 'Keep this word' }));
  await screen.findByText('Choose how you know.');
  expect(posted()).toEqual([]);
});

it('shows nothing to whoever could still read the job blind', async () => {
  asked.mockImplementation(async () => answer(403, { type: '/problems/blind-first', title: 'Blind first' }));
  render(TurnedOut, { job, circuit });
  await waitFor(() => expect(asked).toHaveBeenCalled());
  await waitFor(() => expect(screen.queryByRole('heading')).toBeNull());
});

it('asks once there is an end, and never beside an open request', () => {
  const at = (state: string, request: RequestState | null) => canBeSaid({ state, request: request && { state: request } } as unknown as JobDetail);
  expect([at('done', null), at('on_site', 'approved'), at('done', 'draft')]).toEqual([true, true, true]);
  expect([at('on_site', null), at('done', 'reading'), at('cancelled', null), at('on_site', 'held')]).toEqual([false, false, false, false]);
});

it('reads each kind of word, and an overload that passes can be chosen', () => {
  expect(foundRead({ ...formNew(), component: 'not_listed', words: ' a nest ', how: 'run_test' }).found).toEqual({ was: 'not_listed', words: 'a nest', how: 'run_test', note: '' });
  expect(foundRead({ ...formNew(), component: 'nothing_wrong', how: 'only_replaced' }).errors[0]!.pointer).toBe('/how');
  expect(foundRead({ ...formNew(), component: 'compressor', how: 'run_test' }).errors[0]!.pointer).toBe('/part');
  expect(faultsOf(circuit, 'compressor').flatMap(({ modes }) => modes).some((mode) => mode.passing)).toBe(true);
});

it('says how many calls moved the odds, and nothing where none did', () => {
  const { considered } = verdictWith({});
  expect(movedBy({ considered })).toBe('');
  expect(movedBy({ considered: { ...considered, confirmed_calls: 12.25 } })).toBe('Odds moved by 12.25 confirmed calls of this shop.');
  expect(movedBy({ considered: { ...considered, confirmed_calls: 1 } })).toBe('Odds moved by 1 confirmed call of this shop.');
});

// The answers promise: kept when nothing answers, shown as kept, and only the last one sent.
import { render, screen, waitFor } from '@testing-library/svelte';
import userEvent from '@testing-library/user-event';
import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { tokenSet } from '../../lib/api';
import { outbox } from '../../lib/outbox.svelte';
import { shipped } from '../../test/shipped';
import Signs from './Signs.svelte';

const circuit = shipped('compressor-1ph-plug');
const sign = circuit.signs![0]!;
const answer = (status: number, body: object) => new Response(JSON.stringify(body), { status, headers: { 'content-type': 'application/json' } });
const asked = vi.fn<typeof fetch>();
const show = (onanswered = vi.fn()) => (render(Signs, { circuit, observations: [], job_id: 'job-1', only: [sign.id], onanswered }), onanswered);
const bodies = () => asked.mock.calls.map(([, init]) => JSON.parse(String(init!.body)));

beforeEach(async () => {
  vi.stubGlobal('fetch', asked);
  tokenSet({ access_token: 'token', expires_in_s: 600 });
  await outbox.open('person-1');
});
afterEach(async () => {
  for (const item of outbox.pending) await outbox.drop(item.key);
  asked.mockReset();
  vi.unstubAllGlobals();
});

it('sends an answer at once and hands the new evidence on', async () => {
  asked.mockResolvedValue(answer(201, { job_id: 'job-1' }));
  const onanswered = show();
  await userEvent.click(screen.getByRole('button', { name: 'Yes' }));
  await waitFor(() => expect(onanswered).toHaveBeenCalledWith({ job_id: 'job-1' }));
  expect(bodies()).toEqual([{ sign: sign.id, present: true }]);
  expect(outbox.pending).toHaveLength(0);
});

it('keeps an answer while nothing answers, says so, and sends only the last one', async () => {
  asked.mockRejectedValueOnce(new TypeError('no network')).mockRejectedValueOnce(new TypeError('no network'));
  show();
  await userEvent.click(screen.getByRole('button', { name: 'Yes' }));
  await screen.findByText('Yes: kept here, not sent yet.');
  expect(screen.getByRole('button', { name: 'Yes' })).toHaveAttribute('aria-pressed', 'true');
  await userEvent.click(screen.getByRole('button', { name: 'No' }));
  await screen.findByText('No: kept here, not sent yet.');
  expect(outbox.of('job-1', 'sign')).toHaveLength(1);
  asked.mockResolvedValue(answer(201, {}));
  await outbox.flush();
  expect(bodies().slice(2)).toEqual([{ sign: sign.id, present: false }]);
  await waitFor(() => expect(screen.queryByText(/kept here/)).toBeNull());
});

it('shows why the server did not accept what was kept, until it is thrown away', async () => {
  asked.mockRejectedValueOnce(new TypeError('no network'));
  show();
  await userEvent.click(screen.getByRole('button', { name: 'No' }));
  await screen.findByText('No: kept here, not sent yet.');
  asked.mockResolvedValue(answer(409, { type: '/problems/job-closed', title: 'The job is closed', detail: 'Open the job again first.' }));
  await outbox.flush();
  await screen.findByText(/Open the job again first/);
  expect(screen.getByRole('button', { name: 'No' })).toHaveAttribute('aria-pressed', 'false');
  await userEvent.click(screen.getByRole('button', { name: 'Throw it away' }));
  await waitFor(() => expect(outbox.pending).toHaveLength(0));
});

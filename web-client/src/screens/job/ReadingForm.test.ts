// The reading form promises: what was typed is sent as meant, kept on error, kept offline.
import { render, screen, waitFor } from '@testing-library/svelte';
import userEvent from '@testing-library/user-event';
import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { Workbench } from '../../circuit/workbench.svelte';
import { tokenSet } from '../../lib/api';
import { outbox } from '../../lib/outbox.svelte';
import { looks } from '../../lib/theme.svelte';
import { shipped } from '../../test/shipped';
import { METER_EMPTY, readingRead, TYPED_EMPTY } from './reading';
import ReadingForm from './ReadingForm.svelte';

const circuit = shipped('compressor-1ph-plug');
const answer = (status: number, body: object) => new Response(JSON.stringify(body), { status, headers: { 'content-type': 'application/json' } });
const asked = vi.fn<typeof fetch>();

function form(): { bench: Workbench; onsent: ReturnType<typeof vi.fn> } {
  const bench = new Workbench('bench.test');
  bench.setUp({ quantity: 'resistance', from: 'C', to: 'S', lifted: ['plug'], label: '' });
  const onsent = vi.fn();
  render(ReadingForm, { circuit, bench, job_id: 'job-1', onsent });
  return { bench, onsent };
}

beforeEach(async () => {
  localStorage.clear();
  vi.stubGlobal('fetch', asked);
  tokenSet({ access_token: 'token', expires_in_s: 600 });
  looks.degrees = 'C';
  await outbox.open('person-1');
});
afterEach(async () => {
  for (const item of outbox.pending) await outbox.drop(item.key);
  asked.mockReset();
  vi.unstubAllGlobals();
});

it('sends value, path, temperature and time under a key of its own', async () => {
  asked.mockResolvedValue(answer(201, { job_id: 'job-1' }));
  const { bench, onsent } = form();
  await userEvent.type(screen.getByLabelText('Value'), '1,30');
  await userEvent.type(screen.getByLabelText(/Part temperature/), '30');
  await userEvent.type(screen.getByLabelText('Minutes stopped'), '240');
  await userEvent.click(screen.getByRole('button', { name: 'Add the reading' }));
  await waitFor(() => expect(onsent).toHaveBeenCalled());
  const [path, init] = asked.mock.calls[0]!;
  expect(path).toBe('/api/jobs/job-1/readings');
  expect((init!.headers as Record<string, string>)['idempotency-key']).toMatch(/^[0-9a-f-]{36}$/);
  expect(JSON.parse(String(init!.body))).toEqual({
    reading: { quantity: 'resistance', from: 'C', to: 'S', lifted: ['plug'], power: 'off', shown: { is: 'value', value: 1.3, unit: 'ohm' }, part_temp_c: 30, stopped_min: 240 },
  });
  expect(bench.picked).toEqual([]);
  expect(outbox.pending).toHaveLength(0);
});

it('sends OL as a reading', async () => {
  asked.mockResolvedValue(answer(201, {}));
  const { onsent } = form();
  await userEvent.click(screen.getByRole('radio', { name: 'OL' }));
  await userEvent.click(screen.getByRole('button', { name: 'Add the reading' }));
  await waitFor(() => expect(onsent).toHaveBeenCalled());
  expect(JSON.parse(String(asked.mock.calls[0]![1]!.body)).reading.shown).toEqual({ is: 'over_limit' });
});

it('shows what the server refuses beside its field and keeps what was typed', async () => {
  asked.mockResolvedValue(answer(422, { type: '/problems/invalid', title: 'Not a possible reading', detail: 'One thing is wrong.', errors: [{ pointer: '/reading/part_temp_c', says: '900 °C is outside −60 to 250.' }] }));
  const { onsent } = form();
  await userEvent.type(screen.getByLabelText('Value'), '1.3');
  await userEvent.type(screen.getByLabelText(/Part temperature/), '900');
  await userEvent.click(screen.getByRole('button', { name: 'Add the reading' }));
  const field = await screen.findByLabelText(/Part temperature/);
  await waitFor(() => expect(field).toHaveAttribute('aria-invalid', 'true'));
  expect(field).toHaveAccessibleDescription(/900 °C is outside/);
  expect(screen.getByLabelText('Value')).toHaveValue('1.3');
  expect(onsent).not.toHaveBeenCalled();
  expect(outbox.pending).toHaveLength(0);
});

it('keeps the reading on the device when nothing answers, and sends it later under the same key', async () => {
  asked.mockRejectedValueOnce(new TypeError('no network'));
  const { onsent } = form();
  await userEvent.type(screen.getByLabelText('Value'), '1.3');
  await userEvent.click(screen.getByRole('button', { name: 'Add the reading' }));
  await waitFor(() => expect(onsent).toHaveBeenCalledWith(null));
  expect(outbox.of('job-1', 'reading')).toHaveLength(1);
  asked.mockResolvedValue(answer(201, {}));
  await outbox.flush();
  expect(outbox.pending).toHaveLength(0);
  const key = (call: number) => (asked.mock.calls[call]![1]!.headers as Record<string, string>)['idempotency-key'];
  expect(key(1)).toBe(key(0));
});

it('asks for a number in words and sends nothing', async () => {
  form();
  await userEvent.click(screen.getByRole('button', { name: 'Add the reading' }));
  expect(screen.getByLabelText('Value')).toHaveAccessibleDescription(/Type what the meter showed/);
  expect(asked).not.toHaveBeenCalled();
});

it('turns degrees Fahrenheit into Celsius and refuses a negative reading', () => {
  const set = { quantity: 'resistance' as const, from: 'C', to: 'S', lifted: [], power: 'off' as const };
  const read = readingRead(set, { ...TYPED_EMPTY, value: '0.48', temp: '203' }, METER_EMPTY, 'F');
  expect(read).toMatchObject({ ok: true, reading: { part_temp_c: 95 } });
  expect(readingRead(set, { ...TYPED_EMPTY, value: '-1' }, METER_EMPTY, 'C')).toMatchObject({ ok: false });
});

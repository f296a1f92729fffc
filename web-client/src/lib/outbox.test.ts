// The outbox promises: nothing overtakes what was written before it on the same job, nothing
// is sent twice, a photo's bytes go once, and a refusal holds up nobody else.
import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { tokenSet } from './api';
import { outbox, type Pending } from './outbox.svelte';

type Call = { path: string; key: string | null; body: Record<string, unknown> };
let calls: Call[] = [];
/** What the network does with each request, in turn; "ok" once they have run out. */
let plan: ('ok' | 'cut' | 'refuse')[] = [];
let hold: Promise<void> | null = null;

beforeEach(async () => {
  calls = [];
  plan = [];
  hold = null;
  tokenSet({ access_token: 'token', expires_in_s: 600 });
  vi.stubGlobal('fetch', vi.fn(async (url: string, init: RequestInit) => {
    await hold;
    const next = plan.shift() ?? 'ok';
    if (next === 'cut') throw new TypeError('no signal');
    const path = new URL(url, 'http://here').pathname;
    calls.push({ path, key: new Headers(init.headers).get('idempotency-key'), body: JSON.parse(String(init.body)) });
    const json = (status: number, body: unknown) => new Response(JSON.stringify(body), { status, headers: { 'content-type': status < 400 ? 'application/json' : 'application/problem+json' } });
    if (next === 'refuse') return json(422, { type: 'about:blank', title: 'Refused', status: 422, detail: 'Not like this.', code: 'invalid', errors: [] });
    return json(201, { id: 'photo-1' });
  }));
  await outbox.open('me');
});
afterEach(async () => {
  for (const { key } of [...outbox.pending]) await outbox.drop(key);
  vi.unstubAllGlobals();
});

const say = (text: string, job = 'job-1') => outbox.put(job, { kind: 'message', message: 'text', body: { text } });
const said = () => calls.filter(({ path }) => path.endsWith('/thread')).map(({ body }) => (body.body as { text?: string; photo_id?: string }).text ?? (body.body as { photo_id?: string }).photo_id);

it('keeps the order when a new word comes while an older one still waits', async () => {
  plan = ['cut'];
  expect(await say('first')).toBeNull();
  await say('second');
  await vi.waitFor(() => expect(said()).toEqual(['first', 'second']));
  await vi.waitFor(() => expect(outbox.pending).toEqual([]));
});

it('keeps what is newer back when the older one meets no network again', async () => {
  plan = ['cut', 'cut'];
  expect(await say('first')).toBeNull();
  expect(await say('second')).toBeNull();
  await vi.waitFor(() => expect(plan).toEqual([]));
  expect(said()).toEqual([]);
  await outbox.flush();
  expect(said()).toEqual(['first', 'second']);
});

it('lets nothing overtake what is on its way', async () => {
  let release = (): void => {};
  hold = new Promise((resolve) => (release = resolve));
  const both = [say('first'), say('second')];
  await vi.waitFor(() => expect(fetch).toHaveBeenCalled());
  // Time enough for a second request, were there one.
  await new Promise((resolve) => setTimeout(resolve));
  expect(fetch).toHaveBeenCalledTimes(1);
  release();
  await Promise.all(both);
  await vi.waitFor(() => expect(said()).toEqual(['first', 'second']));
});

it('holds up neither another job nor what follows when one is refused', async () => {
  plan = ['cut'];
  await say('to be refused');
  plan = ['refuse'];
  await say('goes on');
  await vi.waitFor(() => expect(said()).toEqual(['to be refused', 'goes on']));
  await say('elsewhere', 'job-2');
  expect(said().at(-1)).toBe('elsewhere');
  expect(outbox.pending.map(({ refused }) => refused)).toEqual([expect.stringContaining('Not like this.')]);
});

it('writes times that keep the order through a reload', async () => {
  plan = ['cut', 'cut', 'cut', 'cut', 'cut', 'cut'];
  for (const text of ['a', 'b', 'c']) await say(text);
  // One attempt each, all at the oldest: what is newer was never tried.
  await vi.waitFor(() => expect(plan).toHaveLength(3));
  const times = outbox.pending.map(({ at }) => at);
  expect([...new Set(times)].sort()).toEqual(times);
  expect(said()).toEqual([]);
  plan = [];
  await outbox.open('me');
  expect(said()).toEqual(['a', 'b', 'c']);
});

it('sends the bytes of a photo once, though its message is cut off', async () => {
  plan = ['ok', 'cut'];
  const sent: Pending[] = [];
  const off = outbox.onSent((item) => sent.push(item));
  expect(await outbox.put('job-1', { kind: 'photo', content: 'aGVs', photo_key: 'bytes-1', body: {} })).toBeNull();
  expect(calls.map(({ path }) => path)).toEqual(['/api/jobs/job-1/photos']);
  await outbox.flush();
  expect(calls.map(({ path }) => path)).toEqual(['/api/jobs/job-1/photos', '/api/jobs/job-1/thread']);
  expect(said()).toEqual(['photo-1']);
  expect(calls[0]?.key).toBe('bytes-1');
  expect(sent).toHaveLength(1);
  off();
});

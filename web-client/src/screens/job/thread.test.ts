// The thread promises: every message once, in the order of its number, none missing.
import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { tokenSet } from '../../lib/api';
import { live } from '../../lib/live.svelte';
import type { Message } from '../../lib/wire';
import { ThreadView } from './thread.svelte';

const message = (seq: number): Message => ({ thread_id: 't', job_id: 'j', seq, id: `m${seq}`, author: { id: 'p', name: 'Tom' }, kind: 'text', body: { text: String(seq) }, key: `k${seq}`, at: '2026-11-28T16:00:00Z' });
let stored: Message[] = [];
let take: (message: Message) => void;

beforeEach(() => {
  tokenSet({ access_token: 'token', expires_in_s: 600 });
  vi.spyOn(live, 'follow').mockImplementation((_job, _last, listener) => {
    take = listener;
    return () => {};
  });
  vi.stubGlobal('fetch', vi.fn(async (url: string) => {
    const after = Number(new URL(url, 'http://here').searchParams.get('after'));
    return new Response(JSON.stringify({ thread_id: 't', last_seq: stored.at(-1)?.seq ?? 0, messages: stored.filter(({ seq }) => seq > after).slice(0, 2), members: [] }), { headers: { 'content-type': 'application/json' } });
  }));
});
afterEach(() => {
  vi.restoreAllMocks();
  vi.unstubAllGlobals();
});

const shown = (view: ThreadView) => view.messages.map(({ seq }) => seq);

it('fetches page after page, then takes what comes live, each once', async () => {
  stored = [1, 2, 3].map(message);
  const view = new ThreadView('j');
  const stop = view.keep();
  await vi.waitFor(() => expect(shown(view)).toEqual([1, 2, 3]));
  await vi.waitFor(() => expect(live.follow).toHaveBeenCalled());
  take(message(4));
  take(message(4));
  take(message(2));
  expect(shown(view)).toEqual([1, 2, 3, 4]);
  stop();
});

it('fetches what is missing when a number is skipped', async () => {
  stored = [message(1)];
  const view = new ThreadView('j');
  const stop = view.keep();
  await vi.waitFor(() => expect(live.follow).toHaveBeenCalled());
  stored = [1, 2, 3].map(message);
  take(message(3));
  await vi.waitFor(() => expect(shown(view)).toEqual([1, 2, 3]));
  stop();
});

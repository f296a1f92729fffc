// Talking to the API: the access token in memory, one refresh for all, keys on every write.
// Belongs here: fetch. Does not belong here: who is signed in as shown on screen
// (session.svelte.ts) or what is kept when nothing answers (outbox.svelte.ts).
import { noAnswer, Problem } from './problem';
import type { Person, ProblemBody } from './wire';

/** How long before the access token runs out it is renewed, so that no request meets the edge. */
const RENEW_EARLY_MS = 60_000;

interface Token {
  text: string;
  expires_ms: number;
}

export interface SignedIn {
  access_token: string;
  expires_in_s: number;
  person?: Person;
}

let token: Token | null = null;
let renewing: Promise<boolean> | null = null;
let onSignedOut: () => void = () => {};

/** A key made on the client: the answer to a repeat is the first answer. */
export function keyNew(): string {
  return crypto.randomUUID();
}

/** Who is told when the session has ended under us. */
export function signedOutHandler(handler: () => void): void {
  onSignedOut = handler;
}

export function tokenSet(answer: SignedIn | null): void {
  token = answer ? { text: answer.access_token, expires_ms: Date.now() + answer.expires_in_s * 1000 } : null;
}

async function answerRead(response: Response): Promise<unknown> {
  if (response.status === 204) return null;
  const type = response.headers.get('content-type') ?? '';
  const body: unknown = type.includes('json') ? await response.json() : await response.text();
  if (response.ok) return body;
  const known: ProblemBody =
    typeof body === 'object' && body !== null
      ? (body as ProblemBody)
      : { title: `The server answered ${response.status}`, detail: 'It gave no reason. What you wrote is kept here; try again in a minute.' };
  throw new Problem(known, response.status);
}

async function ask(method: string, path: string, body: unknown, headers: Record<string, string>): Promise<Response> {
  try {
    return await fetch(path, {
      method,
      headers: body === undefined ? headers : { ...headers, 'content-type': 'application/json' },
      body: body === undefined ? undefined : JSON.stringify(body),
      credentials: 'same-origin',
    });
  } catch {
    throw noAnswer();
  }
}

/** Asks for a new access token with the cookie the page cannot read. False when signed out. */
export function renew(): Promise<boolean> {
  renewing ??= withLock(async () => {
    const response = await ask('POST', '/api/session/refresh', undefined, {});
    if (response.status === 401 || response.status === 403 || response.status === 400) {
      tokenSet(null);
      return false;
    }
    tokenSet((await answerRead(response)) as SignedIn);
    return true;
  }).finally(() => {
    renewing = null;
  });
  return renewing;
}

/** Two tabs must not spend the same refresh cookie at once. */
function withLock<T>(work: () => Promise<T>): Promise<T> {
  return navigator.locks ? navigator.locks.request('countersign-renew', work) as Promise<T> : work();
}

async function getToken(): Promise<void> {
  if (token && token.expires_ms - Date.now() >= RENEW_EARLY_MS) return;
  if (await renew()) return;
  onSignedOut();
  throw new Problem({ title: 'Signed out', detail: 'Your session has ended. Sign in again; what you wrote is kept.' }, 401);
}

async function call<T>(method: string, path: string, body?: unknown, key?: string): Promise<T> {
  await getToken();
  const headers = (): Record<string, string> => ({
    authorization: `Bearer ${token?.text ?? ''}`,
    ...(key ? { 'idempotency-key': key } : {}),
  });
  let response = await ask(method, path, body, headers());
  if (response.status === 401 && (await renew())) response = await ask(method, path, body, headers());
  if (response.status === 401) onSignedOut();
  return (await answerRead(response)) as T;
}

export const get = <T>(path: string): Promise<T> => call<T>('GET', path);
export const post = <T>(path: string, body: unknown = {}, key = keyNew()): Promise<T> => call<T>('POST', path, body, key);
export const patch = <T>(path: string, body: unknown, key = keyNew()): Promise<T> => call<T>('PATCH', path, body, key);
export const put = <T>(path: string, body: unknown, key = keyNew()): Promise<T> => call<T>('PUT', path, body, key);
/** A question that needs a body and changes nothing, so it has no key. */
export const openPost = <T>(path: string, body: unknown): Promise<T> => call<T>('POST', path, body);
export const remove = <T>(path: string, key = keyNew()): Promise<T> => call<T>('DELETE', path, undefined, key);

/** A guest's calls: let in by a cookie that this page cannot read. */
export async function guestAsk<T>(method: 'GET' | 'POST', path: string, body?: unknown, key = keyNew()): Promise<T> {
  return (await answerRead(await ask(method, path, body, method === 'POST' ? { 'idempotency-key': key } : {}))) as T;
}

/** A picture, which an <img> could not ask for with a token. */
export async function picture(path: string): Promise<Blob> {
  await getToken();
  const headers = { authorization: `Bearer ${token?.text ?? ''}` };
  const response = await ask('GET', path, undefined, headers);
  if (!response.ok) await answerRead(response);
  return response.blob();
}

/** Calls that carry no token: signing in and out, and what is public. */
export async function open<T>(method: 'GET' | 'POST', path: string, body?: unknown): Promise<T> {
  return (await answerRead(await ask(method, path, body, {}))) as T;
}

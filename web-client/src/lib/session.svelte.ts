// Who is signed in.
// Belongs here: the signed-in person and what their roles allow the page to offer. Does not
// belong here: enforcing it; the server does that.
import { get, open, renew, signedOutHandler, tokenSet, type SignedIn } from './api';
import { live } from './live.svelte';
import { outbox } from './outbox.svelte';
import type { Me, Role } from './wire';

class Session {
  me = $state<Me | null>(null);
  /** "starting" until the cookie has been tried, so that no sign-in page flashes by. */
  phase = $state<'starting' | 'out' | 'in' | 'unreachable'>('starting');
  /** Why the sign-in page is shown, when it was not asked for. */
  ended = $state('');

  /** Tries the refresh cookie. */
  async start(): Promise<void> {
    signedOutHandler(() => this.drop('Your session has ended. Sign in again; what you wrote is kept on this device.'));
    this.phase = 'starting';
    try {
      if (await renew()) await this.enter();
      else this.phase = 'out';
    } catch {
      this.phase = 'unreachable';
    }
  }

  async signIn(email: string, password: string): Promise<void> {
    tokenSet(await open<SignedIn>('POST', '/api/session', { email, password }));
    await this.enter();
  }

  async signOut(): Promise<void> {
    live.stop();
    await open('POST', '/api/session/end').catch(() => undefined);
    this.drop('');
  }

  has(...roles: Role[]): boolean {
    return this.me?.roles.some((role) => roles.includes(role)) ?? false;
  }

  get schedules(): boolean {
    return this.has('scheduler', 'service_manager', 'owner');
  }

  get manages(): boolean {
    return this.has('service_manager', 'owner');
  }

  private async enter(): Promise<void> {
    this.me = await get<Me>('/api/me');
    this.phase = 'in';
    this.ended = '';
    live.start();
    void outbox.open(this.me.id);
  }

  private drop(why: string): void {
    if (this.phase !== 'in' && this.phase !== 'starting') return;
    live.stop();
    tokenSet(null);
    this.me = null;
    this.phase = 'out';
    this.ended = why;
  }
}

export const session = new Session();

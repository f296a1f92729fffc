// Whether the device has a network, as the browser knows it, and the clock of the page.
// Belongs here: facts about the device that screens react to. Does not belong here: whether
// the live stream is up (live.svelte.ts).

const MINUTE_MS = 60_000;

class Net {
  online = $state(typeof navigator === 'undefined' || navigator.onLine);
  /** Ticks every minute, so that "12 min ago" stays true. */
  now_ms = $state(Date.now());

  constructor() {
    if (typeof window === 'undefined') return;
    window.addEventListener('online', () => (this.online = true));
    window.addEventListener('offline', () => (this.online = false));
    setInterval(() => (this.now_ms = Date.now()), MINUTE_MS);
  }
}

export const net = new Net();

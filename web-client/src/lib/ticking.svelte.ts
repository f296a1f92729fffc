// The time, told once a second to whatever counts down.
// Belongs here: one timer for the page. Does not belong here: how a time reads (time.ts).

const TICK_MS = 1000;

class Ticking {
  now_ms = $state(Date.now());
  private watched = 0;
  private timer: ReturnType<typeof setInterval> | undefined;

  /** Ticks from now on; use inside $effect. */
  watch(): () => void {
    this.now_ms = Date.now();
    if (this.watched++ === 0) this.timer = setInterval(() => (this.now_ms = Date.now()), TICK_MS);
    return () => {
      if (--this.watched === 0) clearInterval(this.timer);
    };
  }
}

export const ticking = new Ticking();

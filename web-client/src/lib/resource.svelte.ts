// Something loaded from the API that stays true while it is on screen.
// Belongs here: loading, loading again when the live stream says so. Does not belong here:
// what it looks like.
import { untrack } from 'svelte';
import { live } from './live.svelte';
import { asProblem, type Problem } from './problem';
import type { Topic, Uuid } from './wire';

/** Changes that come in a burst lead to one reload. */
const BURST_MS = 60;

export class Resource<T> {
  data = $state.raw<T | null>(null);
  problem = $state<Problem | null>(null);
  loading = $state(true);
  private running = false;
  private again = false;

  constructor(private readonly load: () => Promise<T>) {}

  /** Loads; a call during a load leads to exactly one more. What is shown stays meanwhile. */
  async reload(): Promise<void> {
    if (this.running) {
      this.again = true;
      return;
    }
    this.running = true;
    // Called from effects: what is loaded must not make its own effect run again.
    this.loading = untrack(() => this.data === null);
    try {
      do {
        this.again = false;
        this.data = await this.load();
        this.problem = null;
      } while (this.again);
    } catch (thrown) {
      this.problem = asProblem(thrown);
    } finally {
      this.running = false;
      this.loading = false;
    }
  }

  /** Takes an answer that came with a write, instead of asking again. */
  take(data: T): void {
    this.data = data;
    this.problem = null;
  }

  /** Loads now and whenever a matching change is announced; use inside $effect. */
  keep(concerns: (topic: Topic, ref_id: Uuid) => boolean): () => void {
    let timer: ReturnType<typeof setTimeout> | undefined;
    const soon = (): void => {
      clearTimeout(timer);
      timer = setTimeout(() => void this.reload(), BURST_MS);
    };
    void this.reload();
    const offChange = live.onChange(({ topic, ref_id }) => concerns(topic, ref_id) && soon());
    const offResume = live.onResume(soon);
    return () => {
      clearTimeout(timer);
      offChange();
      offResume();
    };
  }
}

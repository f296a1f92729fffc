// What stands on the shop's jobs: ladders that climb, and deferrals.
// Belongs here: one copy for every row on the screen, kept true while any of them is shown.
// Does not belong here: what a row looks like (StandingNote.svelte).
import { get } from './api';
import { Resource } from './resource.svelte';
import type { Standing, StandingLadder, Uuid } from './wire';

class Stands {
  private readonly from = new Resource<Standing>(() => get('/api/standing'));
  private shown = 0;
  private off: (() => void) | null = null;
  private readonly ladders = $derived.by(() => {
    const by_job = new Map<Uuid, StandingLadder[]>();
    for (const one of this.from.data?.ladders ?? []) by_job.set(one.job_id, [...(by_job.get(one.job_id) ?? []), one]);
    return by_job;
  });
  private readonly deferred = $derived(new Map((this.from.data?.deferred ?? []).map((one) => [one.job_id, one.until])));

  /** Kept true from now on; use inside $effect. */
  keep(): () => void {
    if (this.shown++ === 0) this.off = this.from.keep((topic) => topic === 'standing');
    return () => {
      if (--this.shown > 0) return;
      this.off?.();
      this.off = null;
    };
  }

  laddersOf(job_id: Uuid): StandingLadder[] {
    return this.ladders.get(job_id) ?? [];
  }

  /** Until when a job waits for a working day. */
  deferredUntil(job_id: Uuid): string | null {
    return this.deferred.get(job_id) ?? null;
  }
}

export const stands = new Stands();

// What stands on a job, as marks on its bar.
// Belongs here: which marks a bar carries, and their words. Does not belong here: drawing them
// (BarMarks.svelte).
import { clock, countdown } from '../../lib/time';
import type { BoardJob, StandingLadder } from '../../lib/wire';
import { ladderWord } from '../../lib/words';

export interface Mark {
  /** Each has a shape of its own. */
  kind: 'put_off' | 'held_over' | 'ladder';
  /** Beside the shape, where the bar has room. */
  short: string;
  /** For whoever hears the bar, or points at it. */
  words: string;
}

/** Put off first, then held over, then what climbs; none once the job is over. */
export function marksOf(job: BoardJob, deferred_until: string | null, ladders: StandingLadder[], now_ms: number, zone: string): Mark[] {
  if (job.state === 'done' || job.state === 'cancelled') return [];
  const marks: Mark[] = [];
  if (job.not_before && Date.parse(job.not_before) > now_ms) {
    const at = clock(job.not_before, zone);
    marks.push({ kind: 'put_off', short: `from ${at}`, words: `put off: nobody need go before ${at}` });
  }
  if (deferred_until) {
    const at = clock(deferred_until, zone);
    marks.push({ kind: 'held_over', short: `to ${at}`, words: `held over until ${at}: the site makes do until then` });
  }
  for (const ladder of ladders) marks.push({ kind: 'ladder', ...climbing(ladder, now_ms, zone) });
  return marks;
}

function climbing(ladder: StandingLadder, now_ms: number, zone: string): { short: string; words: string } {
  const what = (ladderWord[ladder.kind] ?? ladder.kind).toLowerCase();
  if (!ladder.next_at) return { short: 'all asked', words: `${what}: everyone there is has been asked` };
  if (ladder.held) {
    const at = clock(ladder.next_at, zone);
    return { short: `quiet to ${at}`, words: `${what}: quiet hours until ${at}, then ${ladder.next_words}` };
  }
  const left = countdown(ladder.next_at, now_ms);
  return { short: left, words: `${what}: in ${left} ${ladder.next_words}` };
}

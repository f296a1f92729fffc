// The waterfall as lengths: for each piece of evidence the suspects' shares, end to end.
// Belongs here: where each length starts, which letter it carries. Does not belong here: drawing.
import type { Waterfall } from '../../lib/wire';

/** A length shorter than this has no room for its letter; the legend and the table name it. */
const LETTER_MIN = 0.07;
/** A share below this is no length that anyone could see. */
const SEEN_MIN = 0.004;

export interface Length {
  /** Place of the suspect in the legend. */
  suspect: number;
  letter: string;
  start: number;
  share: number;
  lettered: boolean;
}

/** A, B, C … in the order of the legend. */
export function letterOf(suspect: number): string {
  return String.fromCharCode(65 + suspect);
}

/** The lengths of one step. They add up to the whole, however the shares were rounded. */
export function lengthsOf(shares: number[]): Length[] {
  const all = shares.reduce((sum, share) => sum + share, 0) || 1;
  let start = 0;
  return shares.flatMap((raw, suspect) => {
    const share = raw / all;
    const at = start;
    start += share;
    return share < SEEN_MIN ? [] : [{ suspect, letter: letterOf(suspect), start: at, share, lettered: share >= LETTER_MIN }];
  });
}

/** The suspects that are seen at some step, by their place: the legend lists no others. */
export function suspectsSeen({ suspects, steps }: Waterfall): number[] {
  return suspects.map((_, place) => place).filter((place) => steps.some((step) => (step.shares[place] ?? 0) >= SEEN_MIN));
}

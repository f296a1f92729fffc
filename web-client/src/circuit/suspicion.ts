// How suspect each part is, for the weight and hatch of its stroke.
// Belongs here: reading a verdict part by part. Does not belong here: strokes themselves.
import type { Part, Verdict } from '../lib/wire';

/** Shares at and above which a part is drawn with more weight; below the first it is plain. */
const SOME_MIN = 0.02;
const MUCH_MIN = 0.1;
const MOST_MIN = 0.5;

export type Weight = 'plain' | 'excluded' | 'some' | 'much' | 'most';

export interface Suspicion {
  weight: Weight;
  /** Probability that one of its faults is present. */
  share: number;
  /** For an excluded part: the readings that excluded its faults, strongest first. */
  by: string[];
  /** "run winding open: 31 of 100" and the like, for the part's own card. */
  faults: { label: string; share: number; by: string[] }[];
}

const PLAIN: Suspicion = { weight: 'plain', share: 0, by: [], faults: [] };

export function suspicionOf(verdict: Verdict | null, part: Part): Suspicion {
  if (!verdict) return PLAIN;
  const suspects = verdict.suspects.filter((suspect) => suspect.part === part.id);
  const excluded = verdict.excluded.filter((fault) => fault.part === part.id);
  const share = Math.min(1, suspects.reduce((sum, suspect) => sum + suspect.share, 0));
  const faults = [
    ...suspects.map(({ label, share }) => ({ label, share, by: [] as string[] })),
    ...excluded.map(({ label, share, by }) => ({ label, share, by })),
  ];
  if (share >= SOME_MIN) {
    return { weight: share >= MOST_MIN ? 'most' : share >= MUCH_MIN ? 'much' : 'some', share, by: [], faults };
  }
  const by = [...new Set(excluded.flatMap((fault) => fault.by))];
  const all = (part.modes ?? []).filter((mode) => !mode.passing);
  const gone = all.length > 0 && all.every((mode) => excluded.some((fault) => fault.mode === mode.id));
  return { weight: gone && by.length > 0 ? 'excluded' : 'plain', share, by, faults };
}

/** In words, for the list twin and for screen readers. */
export function suspicionWords(suspicion: Suspicion): string {
  switch (suspicion.weight) {
    case 'most':
      return 'most likely';
    case 'much':
      return 'strong suspect';
    case 'some':
      return 'suspect';
    case 'excluded':
      return `excluded by ${suspicion.by.join(', ')}`;
    case 'plain':
      return '';
  }
}

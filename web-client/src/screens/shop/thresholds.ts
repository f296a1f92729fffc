// The thresholds that a verdict is judged by: their words, and which way is looser.
// Belongs here: naming and comparing them. Does not belong here: what may be set, and who may,
// which the server says.
import type { Policy, Shop, ThresholdChange } from '../../lib/wire';

export interface Threshold { key: keyof Policy; word: string; hint: string; looser?: 'lower' | 'higher' }

export const THRESHOLDS: Threshold[] = [
  { key: 'isolated_min', word: 'Share that isolates a part', hint: 'Of 100 jobs that read like this, in at least so many the part must be the one.', looser: 'lower' },
  { key: 'rival_max', word: 'Share that a rival may have', hint: 'No other part may keep more than this.', looser: 'higher' },
  { key: 'leave_one_out_min', word: 'Share left without any one reading', hint: 'One bad reading must not carry a verdict.', looser: 'lower' },
  { key: 'contradicted_max', word: 'Share at which a claim is contradicted', hint: 'At or under this the readings say that the part is good.' },
  { key: 'mistake_rate', word: 'Readings taken wrongly', hint: 'Of 100 readings, how many are not what they seem.', looser: 'lower' },
  { key: 'unknown_rate', word: 'Faults that no circuit lists', hint: 'Of 100 jobs, in how many the fault is none of those known.', looser: 'lower' },
];

/** As typed: out of 100. */
export const inHundred = (share: number): string => String(Math.round(share * 1e6) / 1e4);

export function policyRead(typed: Record<keyof Policy, string>): { policy: Policy; errors: { pointer: string; says: string }[] } {
  const errors: { pointer: string; says: string }[] = [];
  const entries = THRESHOLDS.map(({ key }) => {
    const value = Number(typed[key].trim().replace(',', '.'));
    if (typed[key].trim() === '' || !Number.isFinite(value)) errors.push({ pointer: `/policy/${key}`, says: 'Type a number out of 100, for example 95.' });
    return [key, value / 100] as const;
  });
  return { policy: Object.fromEntries(entries) as unknown as Policy, errors };
}

/** What moved between two states of the settings, a line each. */
export function moved(change: ThresholdChange, currency: string): string[] {
  type Judged = Pick<Shop, 'policy' | 'approval_rules' | 'approval_limit_cents'>;
  const [before, after] = [change.before as Judged, change.after as Judged];
  const lines = THRESHOLDS.filter(({ key }) => before.policy?.[key] !== after.policy?.[key]).map(
    ({ key, word }) => `${word}: ${inHundred(before.policy[key] as number)} to ${inHundred(after.policy[key] as number)} in 100`,
  );
  if (before.approval_limit_cents !== after.approval_limit_cents) lines.push(`Approval limit: ${before.approval_limit_cents / 100} to ${after.approval_limit_cents / 100} ${currency}`);
  const rules: [keyof Shop['approval_rules'], string][] = [['warranty', 'Asked under warranty'], ['disagreement', 'Asked after a disagreement'], ['override', 'Asked after an override'], ['age_years', 'Asked from this age in years']];
  const said = (value: unknown): string => (value === true ? 'yes' : value === false ? 'no' : value == null ? 'no such rule' : String(value));
  for (const [key, word] of rules) {
    const [was, is] = [before.approval_rules?.[key], after.approval_rules?.[key]];
    if ((was ?? null) !== (is ?? null)) lines.push(`${word}: ${said(was)} to ${said(is)}`);
  }
  return lines;
}

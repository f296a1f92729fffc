import { describe, expect, it } from 'vitest';
import type { Policy, ThresholdChange } from '../../lib/wire';
import { inHundred, moved, policyRead, THRESHOLDS } from './thresholds';

const policy: Policy = { isolated_min: 0.95, rival_max: 0.02, leave_one_out_min: 0.8, contradicted_max: 0.02, mistake_rate: 0.02, unknown_rate: 0.01 };

describe('thresholds', () => {
  it('go onto the form and come back as they were', () => {
    const typed = Object.fromEntries(THRESHOLDS.map(({ key }) => [key, inHundred(policy[key] as number)])) as Record<keyof Policy, string>;
    expect(typed.isolated_min).toBe('95');
    expect(policyRead(typed)).toEqual({ policy, errors: [] });
    expect(policyRead({ ...typed, rival_max: 'few' }).errors[0]?.pointer).toBe('/policy/rival_max');
  });

  it('say what moved and leave out what did not', () => {
    const rules = { warranty: true, age_years: null, disagreement: true, override: true };
    const before = { policy, approval_rules: rules, approval_limit_cents: 50_000 };
    const after = { policy: { ...policy, isolated_min: 0.9 }, approval_rules: { ...rules, warranty: false, age_years: 12 }, approval_limit_cents: 50_000 };
    expect(moved({ before, after } as unknown as ThresholdChange, 'USD')).toEqual([
      'Share that isolates a part: 95 to 90 in 100', 'Asked under warranty: yes to no', 'Asked from this age in years: no such rule to 12',
    ]);
  });
});

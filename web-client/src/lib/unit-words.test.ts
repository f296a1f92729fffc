// What a nameplate says in words, at its edges.
import { expect, it } from 'vitest';
import { ageWords, specWords, warrantyWords } from './unit-words';

const ZONE = 'America/Denver';
const now_ms = Date.parse('2026-11-25T05:00:00Z');

it('counts whole years by the calendar of the site', () => {
  expect(ageWords({ installed_on: '2016-11-24' }, now_ms, ZONE)).toBe('installed 24 Nov 2016 (10 years)');
  expect(ageWords({ installed_on: '2016-11-25' }, now_ms, ZONE)).toBe('installed 25 Nov 2016 (9 years)');
  expect(ageWords({ installed_on: '2026-03-01' }, now_ms, ZONE)).toBe('installed 1 Mar 2026 (under a year)');
  expect(ageWords({ installed_on: null }, now_ms, ZONE)).toBe('');
});

it('is under warranty through its last day', () => {
  expect(warrantyWords({ warranty_until: '2026-11-24' }, now_ms, ZONE)).toBe('under warranty until 24 Nov 2026');
  expect(warrantyWords({ warranty_until: '2026-11-23' }, now_ms, ZONE)).toBe('warranty ended 23 Nov 2026');
});

it('says a value with its tolerance and where it was read', () => {
  expect(specWords('run_winding', { value: 0.52, unit: 'ohm', tolerance_pct: 5, source: 'service sheet' })).toBe('run winding 0.52 Ω ± 5 %, service sheet');
  expect(specWords('cap_herm', { value: 40, unit: 'microfarad' })).toBe('cap herm 40 µF');
});

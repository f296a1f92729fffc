// What the pages about rules promise.
import { expect, test } from 'vitest';
import { actionNew, actionOrder, corrected, offsetOf, valueWords } from './rule';

test('a suggestion takes the place of what was wrong and of nothing else', () => {
  expect(corrected('weekend &&\n  on_cal_left == 0', 2, 3, 'on_call_left')).toBe('weekend &&\n  on_call_left == 0');
  expect(corrected('open_jobs.no_heat > 2', 1, 1, 'open_jobs.no_heat_cool')).toBe('open_jobs.no_heat_cool > 2');
  expect(corrected('day == "Saterday"', 1, 8, '"saturday"')).toBe('day == "saturday"');
  expect(corrected('hour = 5', 1, 6, '==')).toBe('hour == 5');
  expect(corrected('weekend and holiday', 1, 9, '&&')).toBe('weekend && holiday');
});

test('a place beyond the text is its end', () => {
  expect(offsetOf('hour >', 1, 7)).toBe(6);
  expect(offsetOf('hour >', 9, 9)).toBe(6);
});

test('every action can be begun, and values are said in words', () => {
  for (const kind of actionOrder) expect(actionNew(kind).do).toBe(kind);
  expect(valueWords({ weekend: true, hour: 17, 'chance_late.water': 0.12345, day: 'saturday' })).toBe('weekend yes, hour 17, chance_late.water 0.123, day saturday');
});

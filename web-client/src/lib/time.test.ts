// Times promise: they are those of the site, daylight saving included.
import { expect, it } from 'vitest';
import { clock, instantToWall, offset_min, span, wallToInstant } from './time';

it.each([
  ['2026-11-28T14:30', '2026-11-28T21:30:00.000Z'],
  ['2026-07-04T14:30', '2026-07-04T20:30:00.000Z'],
  // The hour before and the hour after the clocks go back.
  ['2026-11-01T00:30', '2026-11-01T06:30:00.000Z'],
  ['2026-11-01T03:30', '2026-11-01T10:30:00.000Z'],
])('reads %s at the site as %s', (wall, instant) => {
  expect(wallToInstant(wall, 'America/Denver')).toBe(instant);
  expect(instantToWall(instant, 'America/Denver')).toBe(wall);
});

it('names the day only when it is another day', () => {
  const now = Date.parse('2026-11-28T16:00:00Z');
  expect(span('2026-11-28T17:00:00Z', '2026-11-28T19:00:00Z', 'America/Denver', now)).toBe('10:00 to 12:00');
  expect(span('2026-11-29T17:00:00Z', null, 'America/Denver', now)).toBe('from Sun 29 Nov, 10:00');
  expect(span(null, null, 'America/Denver', now)).toBe('no time promised');
});

it('names the zone only when the clock of whoever reads is another', () => {
  const here = Intl.DateTimeFormat().resolvedOptions().timeZone;
  for (const second of ['00', '29', '31', '59']) {
    expect(clock(`2026-11-28T17:00:${second}Z`, here)).not.toMatch(/UTC|GMT|[A-Z]{3,4}$/);
    expect(offset_min(new Date(`2026-11-28T17:00:${second}Z`), 'America/Denver')).toBe(-420);
  }
});

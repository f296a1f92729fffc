import { describe, expect, test } from 'vitest';
import { CALL_EMPTY, callBody, promises, wrong } from './call';

const ZONE = 'America/Denver';
const at = (wall: string): number => Date.parse(`${wall}:00-07:00`);

describe('promises by one touch', () => {
  test('what has passed, or nearly, is not offered', () => {
    const words = (wall: string): string[] => promises(at(wall), ZONE).map(({ word }) => word);
    expect(words('2027-01-09T07:00')[0]).toBe('Today before noon');
    expect(words('2027-01-09T11:15')[0]).toBe('This afternoon');
    expect(words('2027-01-09T16:30')).toEqual(['Tomorrow morning', 'Tomorrow afternoon']);
  });

  test('one that has begun begins now, at the next quarter', () => {
    expect(promises(at('2027-01-09T09:10'), ZONE)[0]).toEqual({ word: 'Today before noon', start: '2027-01-09T09:15', end: '2027-01-09T12:00' });
    expect(promises(at('2027-01-09T23:10'), ZONE)[0]!.start).toBe('2027-01-10T08:00');
  });
});

describe('what is sent', () => {
  const filled = { ...CALL_EMPTY, unit: 'u', complaint: ' No heat ', answers: { no_heat_cool: 'yes' as const } };

  test('answers without a class of its own, and only what was typed', () => {
    expect(callBody(filled, ZONE)).toEqual({ unit_id: 'u', complaint: 'No heat', answers: { no_heat_cool: 'yes' }, work: 'diagnosis', required: [] });
    expect(callBody({ ...filled, outdoor_f: '−4', expected_min: '75', start: '2027-01-09T08:00', end: '2027-01-09T12:00' }, ZONE)).toMatchObject({
      outdoor_f: -4, expected_min: 75, window_start: '2027-01-09T15:00:00.000Z', window_end: '2027-01-09T19:00:00.000Z',
    });
    expect(callBody({ ...filled, urgency: 'water', urgency_because: ' Drips ' }, ZONE)).toMatchObject({ urgency: 'water', urgency_because: 'Drips' });
  });

  test('what cannot be is said before it is sent, by its place', () => {
    expect(wrong(filled)).toEqual([]);
    const places = wrong({ ...CALL_EMPTY, start: '2027-01-09T08:00', outdoor_f: 'cold', expected_min: '1.5' }).map(({ pointer }) => pointer);
    expect(places).toEqual(['/unit_id', '/complaint', '/window_end', '/outdoor_f', '/expected_min']);
  });
});

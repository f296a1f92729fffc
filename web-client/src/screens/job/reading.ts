// From what was typed to a reading, and what the page can say about it by itself.
// Belongs here: reading the form's fields. Does not belong here: what only the server
// knows (points, parts, plausibility).
import type { Meter, ReadingBody, Shown, Unit } from '../../lib/wire';

export interface Typed {
  is: Shown['is'];
  value: string;
  unit: Unit;
  temp: string;
  stopped: string;
}

export interface TypedMeter {
  label: string;
  accuracy: string;
  resolution: string;
  highest: string;
  lead_ohm: string;
  zeroed: '' | 'yes' | 'no';
  low_impedance: '' | 'yes' | 'no';
}

export const METER_EMPTY: TypedMeter = { label: '', accuracy: '', resolution: '', highest: '', lead_ohm: '', zeroed: '', low_impedance: '' };
export const TYPED_EMPTY: Typed = { is: 'value', value: '', unit: 'ohm', temp: '', stopped: '' };

/** A number as typed with a point or a comma; null when it is not one. */
export function numberRead(text: string): number | null {
  const clean = text.trim().replace(',', '.');
  return /^-?(\d+(\.\d*)?|\.\d+)$/.test(clean) ? Number(clean) : null;
}

export const toCelsius = (fahrenheit: number): number => Math.round(((fahrenheit - 32) / 1.8) * 10) / 10;
export const toFahrenheit = (celsius: number): number => Math.round(celsius * 1.8 + 32);

type Read = { ok: true; reading: ReadingBody } | { ok: false; errors: { pointer: string; says: string }[] };

export function readingRead(
  set: Pick<ReadingBody, 'quantity' | 'from' | 'to' | 'lifted' | 'power' | 'state'>,
  typed: Typed,
  meter: TypedMeter,
  degrees: 'C' | 'F',
): Read {
  const errors: { pointer: string; says: string }[] = [];
  const optional = (text: string, pointer: string, example: string): number | null => {
    if (text.trim() === '') return null;
    const number = numberRead(text);
    if (number === null) errors.push({ pointer, says: `“${text}” is not a number. Type digits, for example ${example}, or leave it empty.` });
    return number;
  };

  let shown: Shown = { is: 'over_limit' };
  if (typed.is === 'climbing') shown = { is: 'climbing' };
  if (typed.is === 'value') {
    const value = numberRead(typed.value);
    if (value === null) errors.push({ pointer: '/reading/shown/value', says: 'Type what the meter showed, for example 0.48. If it showed OL, choose OL.' });
    else if (value < 0) errors.push({ pointer: '/reading/shown/value', says: 'A meter reading here is never negative. Swap the probes or zero the leads, and read again.' });
    else shown = { is: 'value', value, unit: typed.unit };
  }
  const temp = optional(typed.temp, '/reading/part_temp_c', degrees === 'C' ? '35' : '95');
  const stopped_min = optional(typed.stopped, '/reading/stopped_min', '45');
  const described: Meter = {
    label: meter.label.trim() || null,
    accuracy_pct: optional(meter.accuracy, '/reading/meter/accuracy_pct', '0.9'),
    resolution: optional(meter.resolution, '/reading/meter/resolution', '0.1'),
    highest: optional(meter.highest, '/reading/meter/highest', '40000000'),
    lead_ohm: optional(meter.lead_ohm, '/reading/meter/lead_ohm', '0.2'),
    zeroed: meter.zeroed === '' ? null : meter.zeroed === 'yes',
    low_impedance: !meter.low_impedance || set.quantity !== 'voltage' ? null : meter.low_impedance === 'yes',
  };
  if (errors.length) return { ok: false, errors };
  const known = Object.fromEntries(Object.entries(described).filter(([, value]) => value !== null)) as Meter;
  const { state, ...path } = set;
  return {
    ok: true,
    reading: {
      ...path,
      lifted: [...set.lifted],
      ...(set.power === 'energised' && state ? { state } : {}),
      shown,
      ...(temp === null ? {} : { part_temp_c: degrees === 'C' ? temp : toCelsius(temp) }),
      ...(stopped_min === null ? {} : { stopped_min }),
      ...(Object.keys(known).length ? { meter: known } : {}),
    },
  };
}

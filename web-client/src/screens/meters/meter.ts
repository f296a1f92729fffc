// A meter's form: from the record to fields, and from fields to what is sent.
// Belongs here: reading what was typed. Does not belong here: what a meter may be, which the
// server says.
import type { MeterHeld, MeterPut, Quantity } from '../../lib/wire';
import { Problem } from '../../lib/problem';
import { numberRead } from '../job/reading';

/** The unit in which a quantity's step and limit are given. */
export const baseSign: Record<Quantity, string> = { resistance: 'Ω', insulation: 'Ω', capacitance: 'µF', voltage: 'V', current: 'A', direct_voltage: 'V', diode: 'V' };

/** "0.1 Ω", "40 MΩ". */
export function amount(value: number, quantity: Quantity): string {
  if (baseSign[quantity] !== 'Ω' || value < 1000) return `${value} ${baseSign[quantity]}`;
  return value < 1e6 ? `${value / 1e3} kΩ` : `${(value / 1e6).toLocaleString('en-GB')} MΩ`;
}

export const METER_QUANTITIES: Quantity[] = ['resistance', 'voltage', 'current', 'capacitance', 'insulation', 'diode', 'direct_voltage'];

export interface RangeForm { quantity: Quantity; on: boolean; accuracy: string; resolution: string; highest: string }
export interface MeterForm {
  id: string; version: number; label: string; maker: string; model: string; serial: string; keeper: string;
  ranges: RangeForm[]; lead_ohm: string; low_impedance: boolean; calibrated_on: string; calibration_months: string;
}

/** What most meters in a van are like (common practice, no source); typed over where the sheet says otherwise. */
const USUAL: Record<Quantity, [string, string, string]> = {
  resistance: ['0.9', '0.1', '40000000'],
  voltage: ['0.5', '0.1', '1000'],
  current: ['2', '0.1', '400'],
  capacitance: ['2', '0.1', '1000'],
  insulation: ['5', '10000', '2000000000'],
  diode: ['1', '0.001', '2'],
  direct_voltage: ['0.5', '0.1', '1000'],
};

const rangeOff = (quantity: Quantity): RangeForm => ({ quantity, on: false, accuracy: USUAL[quantity][0], resolution: USUAL[quantity][1], highest: USUAL[quantity][2] });

export const METER_NEW: MeterForm = {
  id: '', version: 0, label: '', maker: '', model: '', serial: '', keeper: '', lead_ohm: '', low_impedance: false, calibrated_on: '', calibration_months: '12',
  ranges: METER_QUANTITIES.map((quantity) => ({ ...rangeOff(quantity), on: quantity === 'resistance' })),
};

export function meterForm(meter: MeterHeld): MeterForm {
  const known = (quantity: Quantity): RangeForm => {
    const range = meter.ranges.find((each) => each.quantity === quantity);
    return range ? { quantity, on: true, accuracy: String(range.accuracy_pct), resolution: String(range.resolution), highest: String(range.highest) } : rangeOff(quantity);
  };
  return {
    id: meter.id, version: meter.version, label: meter.label, maker: meter.maker, model: meter.model, serial: meter.serial, keeper: meter.keeper?.id ?? '',
    ranges: METER_QUANTITIES.map(known), lead_ohm: meter.lead_ohm == null ? '' : String(meter.lead_ohm), low_impedance: meter.low_impedance === true,
    calibrated_on: meter.calibrated_on ?? '', calibration_months: meter.calibration_months == null ? '' : String(meter.calibration_months),
  };
}

type Read = { ok: true; meter: MeterPut } | { ok: false; errors: { pointer: string; says: string }[] };

export function meterBody(form: MeterForm): Read {
  const errors: { pointer: string; says: string }[] = [];
  const number = (text: string, pointer: string): number => {
    const value = numberRead(text);
    if (value === null) errors.push({ pointer, says: 'Type a number, for example 0.1.' });
    return value ?? 0;
  };
  const optional = (text: string, pointer: string): number | null => (text.trim() === '' ? null : number(text, pointer));
  const ranges = form.ranges.flatMap((range, at) =>
    range.on
      ? [{
          quantity: range.quantity,
          accuracy_pct: number(range.accuracy, `/ranges/${at}/accuracy_pct`),
          resolution: number(range.resolution, `/ranges/${at}/resolution`),
          highest: number(range.highest, `/ranges/${at}/highest`),
        }]
      : [],
  );
  const meter: MeterPut = {
    label: form.label, maker: form.maker, model: form.model, serial: form.serial, keeper: form.keeper || null, ranges,
    lead_ohm: optional(form.lead_ohm, '/lead_ohm'), low_impedance: form.low_impedance, calibrated_on: form.calibrated_on || null,
    calibration_months: optional(form.calibration_months, '/calibration_months'),
  };
  return errors.length ? { ok: false, errors } : { ok: true, meter };
}

/** The server counts the ranges that it was sent; the form also has those that are off. */
export function ontoForm(problem: Problem, form: MeterForm): Problem {
  const sent = form.ranges.flatMap(({ on }, at) => (on ? [at] : []));
  const errors = problem.errors.map(({ pointer, says }) => ({ pointer: pointer.replace(/^\/ranges\/(\d+)/, (_, at: string) => `/ranges/${sent[Number(at)] ?? at}`), says }));
  return new Problem({ type: `/problems/${problem.code}`, title: problem.title, detail: problem.message, errors }, problem.status);
}

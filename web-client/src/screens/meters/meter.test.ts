import { describe, expect, it } from 'vitest';
import type { MeterHeld } from '../../lib/wire';
import { Problem } from '../../lib/problem';
import { amount, meterBody, meterForm, METER_NEW, ontoForm } from './meter';

const held: MeterHeld = {
  id: 'm1', label: 'van 3', maker: '', model: '', serial: 'V-1', keeper: null, lead_ohm: 0.3, low_impedance: null, calibrated_on: '2026-05-01',
  calibration_months: 12, due_on: '2027-05-01', retired_at: null, version: 4,
  ranges: [{ quantity: 'resistance', accuracy_pct: 0.8, resolution: 0.1, highest: 4e7 }, { quantity: 'voltage', accuracy_pct: 0.5, resolution: 0.1, highest: 600 }],
};

describe('a meter on a form', () => {
  it('comes back as it was', () => {
    const read = meterBody(meterForm(held));
    expect(read.ok && read.meter.ranges).toEqual(held.ranges);
    expect(read.ok && [read.meter.lead_ohm, read.meter.calibration_months, read.meter.keeper]).toEqual([0.3, 12, null]);
  });

  it('says at which field a number is none, and sends nothing', () => {
    const form = { ...METER_NEW, lead_ohm: 'a bit', ranges: METER_NEW.ranges.map((range) => (range.on ? { ...range, resolution: '' } : range)) };
    const read = meterBody(form);
    expect(!read.ok && read.errors.map(({ pointer }) => pointer)).toEqual(['/ranges/0/resolution', '/lead_ohm']);
  });

  it('puts what the server says of a range onto that range', () => {
    const form = { ...METER_NEW, ranges: METER_NEW.ranges.map((range) => ({ ...range, on: range.quantity === 'voltage' })) };
    const said = new Problem({ errors: [{ pointer: '/ranges/0/highest', says: 'Too low.' }] }, 422);
    expect(ontoForm(said, form).about('/ranges/1/highest')).toBe('Too low.');
  });

  it('is told in units that are read at a glance', () => {
    expect([amount(0.1, 'resistance'), amount(4e7, 'resistance'), amount(1e4, 'insulation'), amount(2e9, 'insulation'), amount(400, 'current')]).toEqual([
      '0.1 Ω', '40 MΩ', '10 kΩ', '2,000 MΩ', '400 A',
    ]);
  });
});

// The fields of a customer, a site and a unit, as typed and as sent.
// Belongs here: empty forms and their conversion. Does not belong here: the inputs.
import type { Circuit, CustomerRow, SiteRow, Spec, UnitRow } from '../../lib/wire';

export interface CustomerForm { name: string; phone: string; email: string }
export interface SiteForm { address: string; town: string; altitude_ft: string; notes: string }
export interface UnitForm {
  label: string; maker: string; model: string; serial: string; circuit: string; refrigerant: string;
  flammable: boolean; installed_on: string; warranty_until: string;
}

export const CUSTOMER_EMPTY: CustomerForm = { name: '', phone: '', email: '' };
export const SITE_EMPTY: SiteForm = { address: '', town: '', altitude_ft: '', notes: '' };
export const UNIT_EMPTY: UnitForm = { label: '', maker: '', model: '', serial: '', circuit: '', refrigerant: '', flammable: false, installed_on: '', warranty_until: '' };

const orNull = (text: string): string | null => text.trim() || null;

export const customerBody = (form: CustomerForm): object => ({ name: form.name.trim(), phone: orNull(form.phone), email: orNull(form.email) });

export function siteBody(form: SiteForm, zone: string): object {
  const altitude = Number(form.altitude_ft);
  return { address: form.address.trim(), town: form.town.trim(), altitude_ft: form.altitude_ft.trim() && Number.isFinite(altitude) ? Math.round(altitude) : null, zone, notes: form.notes.trim() };
}

export const customerForm = (row: CustomerRow): CustomerForm => ({ name: row.name, phone: row.phone ?? '', email: row.email ?? '' });
export const siteForm = (row: SiteRow): SiteForm => ({ address: row.address, town: row.town, altitude_ft: row.altitude_ft == null ? '' : String(row.altitude_ft), notes: row.notes });
export const unitForm = (row: UnitRow): UnitForm => ({
  label: row.label, maker: row.maker, model: row.model, serial: row.serial, circuit: row.circuit, refrigerant: row.refrigerant ?? '',
  flammable: row.flammable, installed_on: row.installed_on ?? '', warranty_until: row.warranty_until ?? '',
});

/** One value of the unit's own, as typed. */
export interface SpecForm { part: string; label: string; unit: SpecUnit; value: string; tolerance: string; source: string }
type SpecUnit = 'ohm' | 'microfarad' | 'volt';
const specUnits: Partial<Record<string, SpecUnit>> = { winding: 'ohm', coil: 'ohm', heater: 'ohm', capacitor: 'microfarad', source: 'volt' };

/** The parts of a circuit whose value a nameplate or a sheet gives, with what is known. */
export function specForms(circuit: Circuit, specs: Record<string, Spec>): SpecForm[] {
  return circuit.parts.flatMap((part) => {
    const unit = specUnits[part.kind];
    const known = specs[part.id];
    return unit ? [{ part: part.id, label: part.label, unit, value: known ? String(known.value) : '', tolerance: known?.tolerance_pct == null ? '' : String(known.tolerance_pct), source: known?.source ?? '' }] : [];
  });
}

/** As sent: a part without a value keeps its family's. */
export function specsBody(forms: SpecForm[]): Record<string, object> {
  return Object.fromEntries(
    forms
      .filter((form) => form.value.trim())
      .map((form) => [form.part, { value: Number(form.value.replace(',', '.')), unit: form.unit, ...(form.tolerance.trim() ? { tolerance_pct: Number(form.tolerance.replace(',', '.')) } : {}), ...(form.source.trim() ? { source: form.source.trim() } : {}) }]),
  );
}

export const unitBody = (form: UnitForm): object => ({
  label: form.label.trim(), maker: form.maker.trim(), model: form.model.trim(), serial: form.serial.trim(), circuit: form.circuit,
  refrigerant: orNull(form.refrigerant), flammable: form.flammable, installed_on: orNull(form.installed_on), warranty_until: orNull(form.warranty_until),
});

// The fields of a customer, a site and a unit, as typed and as sent.
// Belongs here: empty forms and their conversion. Does not belong here: the inputs.
import type { Circuit, CustomerRow, SiteRow, Spec, Unit, UnitRow } from '../../lib/wire';
import { numberRead } from '../job/reading';

export interface CustomerForm { name: string; phone: string; email: string }
export interface SiteForm { address: string; town: string; altitude_ft: string; notes: string }
export interface UnitForm {
  label: string; maker: string; model: string; serial: string; circuit: string; refrigerant: string;
  flammable: boolean; installed_on: string; warranty_until: string;
}

export const CUSTOMER_EMPTY: CustomerForm = { name: '', phone: '', email: '' };
export const SITE_EMPTY: SiteForm = { address: '', town: '', altitude_ft: '', notes: '' };
export const UNIT_EMPTY: UnitForm = { label: '', maker: '', model: '', serial: '', circuit: '', refrigerant: '', flammable: false, installed_on: '', warranty_until: '' };

/** What the fields are called on the forms. */
export const CUSTOMER_WORDS: Record<keyof CustomerForm, string> = { name: 'Customer', phone: 'Telephone', email: 'E-mail' };
export const SITE_WORDS: Record<keyof SiteForm, string> = { address: 'Address', town: 'Town', altitude_ft: 'Altitude', notes: 'What to know before going there' };
export const UNIT_WORDS: Record<keyof UnitForm, string> = {
  label: 'What people call it', maker: 'Maker', model: 'Model', serial: 'Serial number', circuit: 'Circuit', refrigerant: 'Refrigerant',
  flammable: 'Its refrigerant is flammable', installed_on: 'Installed on', warranty_until: 'Under warranty until',
};

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
export interface SpecForm { part: string; label: string; unit: Unit; lead: boolean; value: string; tolerance: string; source: string }
const specUnits: Partial<Record<string, Unit>> = { winding: 'ohm', lead: 'ohm', coil: 'ohm', heater: 'ohm', capacitor: 'microfarad', source: 'volt' };

/** The parts of a circuit whose value a nameplate or a sheet gives, with what is known. */
export function specForms(circuit: Circuit, specs: Record<string, Spec>): SpecForm[] {
  return circuit.parts.flatMap((part) => {
    const unit = specUnits[part.kind];
    const known = specs[part.id];
    return unit ? [{ part: part.id, label: part.label, unit: known?.unit ?? unit, lead: part.kind === 'lead', value: known ? String(known.value) : '', tolerance: known?.tolerance_pct == null ? '' : String(known.tolerance_pct), source: known?.source ?? '' }] : [];
  });
}

/** As sent: a part without a value keeps its family's. */
export function specsBody(forms: SpecForm[]): Record<string, object> {
  return Object.fromEntries(
    forms
      .filter((form) => form.value.trim())
      .map((form) => [form.part, { value: numberRead(form.value), unit: form.unit, ...(form.tolerance.trim() ? { tolerance_pct: numberRead(form.tolerance) } : {}), ...(form.source.trim() ? { source: form.source.trim() } : {}) }]),
  );
}

/** What the page can say by itself before sending. */
export function specsWrong(forms: SpecForm[]): { pointer: string; says: string }[] {
  return forms.flatMap((form) => {
    const at = `/specs/${form.part}`;
    const says = (text: string, example: string): string => `“${text}” is not a number. Type digits, for example ${example}, or leave it empty.`;
    return [
      ...(form.value.trim() && numberRead(form.value) === null ? [{ pointer: `${at}/value`, says: says(form.value, '0.52') }] : []),
      ...(form.tolerance.trim() && numberRead(form.tolerance) === null ? [{ pointer: `${at}/tolerance_pct`, says: says(form.tolerance, '5') }] : []),
      ...(!form.value.trim() && (form.tolerance.trim() || form.source.trim()) ? [{ pointer: `${at}/value`, says: 'The value itself is missing.' }] : []),
    ];
  });
}

export const unitBody = (form: UnitForm): object => ({
  label: form.label.trim(), maker: form.maker.trim(), model: form.model.trim(), serial: form.serial.trim(), circuit: form.circuit,
  refrigerant: orNull(form.refrigerant), flammable: form.flammable, installed_on: orNull(form.installed_on), warranty_until: orNull(form.warranty_until),
});

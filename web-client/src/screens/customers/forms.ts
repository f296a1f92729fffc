// The fields of a customer, a site and a unit, as typed and as sent.
// Belongs here: empty forms and their conversion. Does not belong here: the inputs.
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

export const unitBody = (form: UnitForm): object => ({
  label: form.label.trim(), maker: form.maker.trim(), model: form.model.trim(), serial: form.serial.trim(), circuit: form.circuit,
  refrigerant: orNull(form.refrigerant), flammable: form.flammable, installed_on: orNull(form.installed_on), warranty_until: orNull(form.warranty_until),
});

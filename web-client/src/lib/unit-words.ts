// A unit's age, warranty and own values, in words.
// Belongs here: sentences about a nameplate. Does not belong here: labels of values on the
// wire (words.ts).
import { date, today, years } from './time';
import type { Spec, UnitRow } from './wire';
import { unitSign } from './words';

/** "installed 3 May 2016 (10 years)"; empty when it is not known. */
export function ageWords(unit: Pick<UnitRow, 'installed_on'>, now_ms: number, zone: string): string {
  if (!unit.installed_on) return '';
  const age = years(unit.installed_on, today(now_ms, zone));
  return `installed ${date(unit.installed_on)} (${age === 0 ? 'under a year' : age === 1 ? '1 year' : `${age} years`})`;
}

/** Its last day is still under warranty. */
export function warrantyWords(unit: Pick<UnitRow, 'warranty_until'>, now_ms: number, zone: string): string {
  if (!unit.warranty_until) return '';
  return unit.warranty_until >= today(now_ms, zone) ? `under warranty until ${date(unit.warranty_until)}` : `warranty ended ${date(unit.warranty_until)}`;
}

/** "run winding 0.52 Ω ± 5 %, service sheet". */
export function specWords(part: string, spec: Spec): string {
  return `${part.replaceAll('_', ' ')} ${spec.value} ${unitSign[spec.unit]}${spec.tolerance_pct == null ? '' : ` ± ${spec.tolerance_pct} %`}${spec.source ? `, ${spec.source}` : ''}`;
}

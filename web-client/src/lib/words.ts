// The words shown for values on the wire: the same word for the same thing everywhere.
// Belongs here: labels and number formats. Does not belong here: sentences the server
// already wrote.
import type { Circuit, Claim, JobState, Outcome, Power, Qualification, Quantity, ReadingBody, RequestState, Role, Shown, Sure, Unit, Urgency, Work } from './wire';

export const unitSign: Record<Unit, string> = { ohm: 'Ω', kilohm: 'kΩ', megohm: 'MΩ', microfarad: 'µF', volt: 'V', ampere: 'A' };

export const quantityWord: Record<Quantity, string> = {
  resistance: 'Resistance',
  insulation: 'Insulation',
  capacitance: 'Capacitance',
  voltage: 'Voltage',
  current: 'Current',
  direct_voltage: 'Direct volts',
  diode: 'Diode test',
};

export const quantityHint: Record<Quantity, string> = {
  resistance: 'ohmmeter, power off',
  insulation: 'insulation tester, power off',
  capacitance: 'capacitance meter, discharged',
  voltage: 'live',
  current: 'live, clamp',
  direct_voltage: 'DC across the link; supply off: wait as the label says, then measure before touching',
  diode: 'red probe on the first point, discharged',
};

export const quantityUnits: Record<Quantity, Unit[]> = {
  resistance: ['ohm', 'kilohm', 'megohm'],
  insulation: ['megohm', 'kilohm', 'ohm'],
  capacitance: ['microfarad'],
  voltage: ['volt'],
  current: ['ampere'],
  direct_voltage: ['volt'],
  diode: ['volt'],
};

export const quantitiesBy: Record<Power, Quantity[]> = {
  off: ['resistance', 'insulation', 'capacitance', 'diode', 'direct_voltage'],
  energised: ['voltage', 'current', 'direct_voltage'],
};

export const powerWord: Record<Power, string> = { off: 'Off, proved dead', energised: 'Energised' };

export const urgencyWord: Record<Urgency, string> = {
  no_heat_vulnerable: 'No heat, someone at risk',
  water: 'Water leaking',
  food_storage: 'Food at risk',
  no_heat_cool: 'No heating or cooling',
  comfort: 'Comfort',
};

/** What a ladder climbs for. */
export const ladderWord: Record<string, string> = {
  second_read: 'Second read',
  urgent_job: 'Urgent job nobody has',
  approval: 'Approval that waits',
};

/** Most urgent first; the order of the queue. */
export const urgencyOrder: Urgency[] = ['no_heat_vulnerable', 'water', 'food_storage', 'no_heat_cool', 'comfort'];

export const workWord: Record<Work, string> = {
  diagnosis: 'Diagnosis',
  repair: 'Repair',
  maintenance: 'Maintenance',
  installation: 'Installation',
  return_visit: 'Return visit',
};

export const jobStateWord: Record<JobState, string> = {
  open: 'Not given to anyone',
  assigned: 'Given',
  on_site: 'On site',
  waiting: 'Waiting',
  done: 'Done',
  cancelled: 'Called off',
};

export const requestStateWord: Record<RequestState, string> = {
  draft: 'Draft',
  held: 'Held: the evidence does not isolate it yet',
  ready: 'Ready for a second read',
  reading: 'Being read by a second technician',
  revealed: 'Second read is in',
  sent_back: 'Sent back with a test',
  countersigned: 'Countersigned',
  awaiting_approval: 'Waiting for approval of the cost',
  approved: 'Approved',
  declined: 'Declined',
  withdrawn: 'Withdrawn',
  overturned: 'Overturned: the evidence changed the mind',
};

/** Takes no more evidence and no request until it is opened again. */
export const jobClosed: JobState[] = ['done', 'cancelled'];
export const requestEnded: RequestState[] = ['approved', 'declined', 'withdrawn', 'overturned'];

export const outcomeWord: Record<Outcome, string> = {
  isolated: 'Isolated',
  not_isolated: 'Not isolated',
  contradicted: 'Contradicted',
  inconsistent: 'Inconsistent',
  incomplete: 'Incomplete',
};

export const sureWord: Record<Sure, string> = { sure: 'Sure', fairly_sure: 'Fairly sure', cannot_tell: 'Cannot tell from this' };

export const roleWord: Record<Role, string> = { technician: 'Technician', service_manager: 'Service manager', scheduler: 'Scheduler', owner: 'Owner' };

export const qualificationWord: Record<Qualification, string> = {
  sealed_system: 'Sealed system',
  three_phase: 'Three phase',
  combustion: 'Combustion',
  electrical: 'Electrical',
};

export function shownWords(shown: Shown): string {
  if (shown.is === 'over_limit') return 'OL';
  if (shown.is === 'climbing') return 'still climbing';
  return `${shown.value} ${unitSign[shown.unit]}`;
}

/** "31 of 100"; never a false 0 or 100. */
export function outOf100(share: number): string {
  const n = share * 100;
  if (n > 0 && n < 1) return 'under 1 of 100';
  if (n < 100 && n > 99) return 'over 99 of 100';
  return `${Math.round(n)} of 100`;
}

/** "Live voltage: disconnect, lock out…" as "live voltage". */
export function cautionHead(says: string): string {
  const head = says.split(/[:.]/)[0]!;
  return head.charAt(0).toLowerCase() + head.slice(1);
}

export function money(cents: number, currency: string): string {
  return new Intl.NumberFormat('en', { style: 'currency', currency }).format(cents / 100);
}

/** "12.50" or "12,50" as cents; null when it is not an amount. */
export function centsRead(text: string): number | null {
  const clean = text.trim().replace(',', '.');
  return /^\d{1,9}(\.\d{1,2})?$/.test(clean) ? Math.round(Number(clean) * 100) : null;
}

/** A digest short enough to compare by eye. */
export function digestShort(digest: string): string {
  return digest.slice(0, 4) + ' ' + digest.slice(4, 8);
}

export function nameOf<T extends { id: string; label: string }>(rows: T[] | undefined, id: string | null | undefined): string {
  return rows?.find((row) => row.id === id)?.label ?? id ?? '';
}

/** "run winding open (compressor)". */
export function claimWords(circuit: Circuit | null, claim: Pick<Claim, 'part' | 'mode'> & { component: string | null }): string {
  if (!claim.component) return 'no part';
  const component = circuit ? nameOf(circuit.components, claim.component) : claim.component;
  if (!claim.part) return component;
  const part = circuit?.parts.find((candidate) => candidate.id === claim.part);
  const mode = claim.mode ? nameOf(part?.modes, claim.mode) : '';
  return `${part?.label ?? claim.part}${mode ? ` ${mode}` : ''} (${component})`;
}

/** "C to R, compressor plug lifted". */
export function pathWords(circuit: Circuit, reading: Pick<ReadingBody, 'from' | 'to' | 'lifted'> & { state?: string | null }): string {
  const lifted = reading.lifted.map((id) => nameOf(circuit.connectors, id));
  return `${nameOf(circuit.points, reading.from)} to ${nameOf(circuit.points, reading.to)}${lifted.length ? `, ${lifted.join(' and ')} lifted` : reading.state ? `, ${nameOf(circuit.states, reading.state)}` : ', nothing lifted'}`;
}

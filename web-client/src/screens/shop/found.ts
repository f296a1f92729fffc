// What was found beside what was expected, in words.
// Belongs here: names of kinds of fault, and which of them are worth a line. Does not belong here:
// counting, which the server does.
import type { FoundKind } from '../../lib/wire';

const PART: Record<NonNullable<FoundKind['kind']>, string> = {
  winding: 'Winding',
  lead: 'Lead',
  contact: 'Plug contact or terminal',
  overload: 'Overload',
  capacitor: 'Capacitor',
  coil: 'Coil',
  switch: 'Switch or contactor pole',
  heater: 'Heating element',
  fuse: 'Fuse',
  source: 'Supply or transformer',
  diode: 'Diode',
  mechanism: 'Mechanism',
};

const EFFECT: Record<NonNullable<FoundKind['effect']>, string> = {
  open: 'open',
  series: 'poor contact, high resistance',
  fraction: 'weak or shorted in part',
  to_shell: 'to the shell',
  source_fraction: 'low or missing',
  open_hot: 'open on heat',
  stuck_closed: 'stuck closed',
  mechanical: 'worn or stuck, which no meter sees',
};

export function kindWords({ class: of, kind, effect }: Pick<FoundKind, 'class' | 'kind' | 'effect'>): string {
  if (of === 'nothing_wrong') return 'Nothing wrong';
  if (of === 'passing' || !kind || !effect) return 'An overload that was open on heat, and closes again';
  return `${PART[kind]}: ${EFFECT[effect]}`;
}

/** Calls, to a tenth; what is hardly any is not called none. */
export function callsWords(calls: number): string {
  if (calls > 0 && calls < 0.05) return 'under 0.1';
  return String(Math.round(calls * 10) / 10);
}

/** "1.8 times as likely"; within a twentieth nothing moved. */
export function timesWords(times: number): string {
  if (times > 0.95 && times < 1.05) return 'as before';
  return `${times < 1 ? times.toFixed(2) : times.toFixed(1)} times`;
}

/** Kinds that were found, or that half a call was expected of; the rest is one sentence. */
export const worthALine = (kind: Pick<FoundKind, 'found' | 'expected'>): boolean => kind.found > 0 || kind.expected >= 0.5;

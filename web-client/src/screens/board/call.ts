// A call as it is typed: the form, the promises that are chosen by one touch, what is sent.
// Belongs here: the form's shape and conversion. Does not belong here: inputs and sending.
import { instantToWall, wallToInstant } from '../../lib/time';
import type { Answers, FoundCustomer, Qualification, Urgency, Uuid, Work } from '../../lib/wire';
import { CUSTOMER_EMPTY, SITE_EMPTY, UNIT_EMPTY } from '../customers/forms';
import { dateAfter, HOUR_MS, STEP_MS } from './hours';

export const NEW = 'new';

export interface CallForm {
  /** What was typed to find them. */
  sought: string;
  /** Who was found, kept so that a reload shows them at once. */
  found: FoundCustomer | null;
  /** Ids, or "new" for what is added on the way. */
  customer: Uuid | typeof NEW | '';
  site: Uuid | typeof NEW | '';
  unit: Uuid | typeof NEW | '';
  newCustomer: typeof CUSTOMER_EMPTY;
  newSite: typeof SITE_EMPTY;
  newUnit: typeof UNIT_EMPTY;
  complaint: string;
  answers: Answers;
  /** Another class than the answers make. */
  urgency: Urgency | null;
  urgency_because: string;
  outdoor_f: string;
  start: string;
  end: string;
  work: Work;
  /** Minutes as typed; empty is the kind's own. */
  expected_min: string;
  required: Qualification[];
  /** Why whoever takes it goes though something speaks against it; asked only then. */
  because: string;
}

export const CALL_EMPTY: CallForm = {
  sought: '', found: null, customer: '', site: '', unit: '', newCustomer: CUSTOMER_EMPTY, newSite: SITE_EMPTY, newUnit: UNIT_EMPTY,
  complaint: '', answers: {}, urgency: null, urgency_because: '', outdoor_f: '', start: '', end: '', work: 'diagnosis', expected_min: '', required: [], because: '',
};

export interface Promised {
  word: string;
  start: string;
  end: string;
}

/** From when to when the mornings and afternoons of a promise go, local hours. */
const MORNING: [string, string] = ['08:00', '12:00'];
const AFTERNOON: [string, string] = ['12:00', '17:00'];
/** A promise that is nearly over is none: at least this much of it must be left. */
const LEFT_MS = HOUR_MS;

/** What can be promised by one touch now, as local times; what has passed is not offered. */
export function promises(now_ms: number, zone: string): Promised[] {
  const now = instantToWall(Math.ceil(now_ms / STEP_MS) * STEP_MS, zone);
  const today = now.slice(0, 10);
  const from = (date: string, [start, end]: [string, string], word: string): Promised[] => {
    const begins = `${date}T${start}` > now ? `${date}T${start}` : now;
    const left = Date.parse(wallToInstant(`${date}T${end}`, zone)) - Date.parse(wallToInstant(begins, zone));
    return left >= LEFT_MS ? [{ word, start: begins, end: `${date}T${end}` }] : [];
  };
  const tomorrow = dateAfter(today, 1);
  return [
    ...from(today, MORNING, 'Today before noon'),
    ...from(today, AFTERNOON, 'This afternoon'),
    ...from(tomorrow, MORNING, 'Tomorrow morning'),
    ...from(tomorrow, AFTERNOON, 'Tomorrow afternoon'),
  ];
}

/** A whole number as typed; none for an empty field. What is no number goes as it is, to be refused by its place. */
function whole(text: string): number | string | undefined {
  const clean = text.trim().replace('−', '-');
  if (!clean) return undefined;
  return /^-?\d+$/.test(clean) ? Number(clean) : clean;
}

/** What the page can say by itself before sending. */
export function wrong(form: CallForm): { pointer: string; says: string }[] {
  const number = (pointer: string, text: string, example: string): { pointer: string; says: string }[] =>
    typeof whole(text) === 'string' ? [{ pointer, says: `“${text.trim()}” is not a whole number. Type digits, for example ${example}, or leave it empty.` }] : [];
  return [
    ...(form.unit ? [] : [{ pointer: '/unit_id', says: 'Who calls, and about which unit? Find them above, or add them.' }]),
    ...(form.complaint.trim() ? [] : [{ pointer: '/complaint', says: 'A few words on what is wrong are missing.' }]),
    ...(form.start && !form.end ? [{ pointer: '/window_end', says: 'A promise that begins needs an end, too.' }] : []),
    ...(form.end && !form.start ? [{ pointer: '/window_start', says: 'A promise that ends needs a beginning, too.' }] : []),
    ...number('/outdoor_f', form.outdoor_f, '-4'),
    ...number('/expected_min', form.expected_min, '90'),
  ];
}

export function callBody(form: CallForm, zone: string): object {
  const answers = Object.fromEntries(Object.entries(form.answers).filter(([, answer]) => answer));
  const asked = Object.keys(answers).length > 0;
  return {
    unit_id: form.unit,
    complaint: form.complaint.trim(),
    ...(asked ? { answers } : {}),
    ...(form.urgency ? { urgency: form.urgency } : {}),
    ...(form.urgency && form.urgency_because.trim() ? { urgency_because: form.urgency_because.trim() } : {}),
    ...(form.start ? { window_start: wallToInstant(form.start, zone) } : {}),
    ...(form.end ? { window_end: wallToInstant(form.end, zone) } : {}),
    work: form.work,
    required: form.required,
    ...(form.because.trim() ? { because: form.because.trim() } : {}),
    ...(whole(form.outdoor_f) === undefined ? {} : { outdoor_f: whole(form.outdoor_f) }),
    ...(whole(form.expected_min) === undefined ? {} : { expected_min: whole(form.expected_min) }),
  };
}

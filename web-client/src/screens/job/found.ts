// What a job turned out to be: what can be chosen, and how it is known, in words.
// Belongs here: choices and words. Does not belong here: what a word counts for (the server's).
import type { Circuit, FoundHow, JobDetail, Mode, Part, SayFound, Verdict } from '../../lib/wire';
import { requestEnded } from '../../lib/words';

/** Beside the circuit's own components. */
export const NOTHING = 'nothing_wrong';
export const ELSE = 'not_listed';

export interface FoundForm { component: string; fault: string; words: string; how: FoundHow | ''; note: string }

export const formNew = (): FoundForm => ({ component: '', fault: '', words: '', how: '', note: '' });

/** How it is known, as a choice. Nothing can have been replaced where nothing was wrong. */
export function howChoices(component: string): [FoundHow, string][] {
  if (component === NOTHING) return [['run_test', 'It ran in a test and did nothing wrong'], ['bench_confirmed', 'The part was looked at on a bench, and it is good']];
  return [['run_test', 'Put right, and it ran: the complaint is gone'], ['bench_confirmed', 'The part was looked at on a bench, and it is that'], ['only_replaced', 'Replaced; nobody looked at the old part']];
}

/** How it is known, behind what it was. */
export const howWord: Record<FoundHow, string> = {
  run_test: 'it ran afterwards',
  bench_confirmed: 'seen on a bench',
  only_replaced: 'replaced, and nobody looked',
};

/** Parts of a component that can fail, with what passes by itself: that is found, too. */
export function faultsOf(circuit: Circuit, component: string): { part: Part; modes: Mode[] }[] {
  return circuit.parts.filter((part) => part.component === component).map((part) => ({ part, modes: part.modes ?? [] })).filter(({ modes }) => modes.length > 0);
}

/** Part and mode as one choice; identifiers have no blanks. */
export const faultKey = (part: string, mode: string): string => `${part} ${mode}`;

/** What the form says, or what is missing from it and where. */
export function foundRead(form: FoundForm): { found: SayFound; errors: never[] } | { found: null; errors: { pointer: string; says: string }[] } {
  const errors: { pointer: string; says: string }[] = [];
  const [part, mode] = form.fault.split(' ');
  if (!form.component) errors.push({ pointer: '/was', says: 'Choose what it was.' });
  const fault = form.component !== NOTHING && form.component !== ELSE && form.component !== '';
  if (fault && (!part || !mode)) errors.push({ pointer: '/part', says: 'Choose what had failed.' });
  if (form.component === ELSE && !form.words.trim()) errors.push({ pointer: '/words', says: 'Say in a few words what it was.' });
  if (!form.how || !howChoices(form.component).some(([how]) => how === form.how)) errors.push({ pointer: '/how', says: 'Choose how you know.' });
  if (errors.length) return { found: null, errors };
  const found: SayFound = { was: fault ? 'fault' : (form.component as 'nothing_wrong' | 'not_listed'), how: form.how as FoundHow, note: form.note.trim() };
  if (fault) Object.assign(found, { part, mode });
  if (form.component === ELSE) found.words = form.words.trim();
  return { found, errors: [] };
}

/** Not while a request is open, which would be a judgement beside the gate; nor before there is an end. */
export function canBeSaid(job: Pick<JobDetail, 'state' | 'request'>): boolean {
  const open = job.request && job.request.state !== 'draft' && !requestEnded.includes(job.request.state);
  if (open || job.state === 'cancelled') return false;
  return job.state === 'done' || (job.request !== null && requestEnded.includes(job.request.state));
}

/** What the shop's own calls did to the odds, where they did anything. */
export function movedBy(verdict: Pick<Verdict, 'considered'>): string {
  const calls = verdict.considered.confirmed_calls;
  if (calls == null) return '';
  const count = String(Math.round(calls * 100) / 100);
  return `Odds moved by ${count} confirmed ${count === '1' ? 'call' : 'calls'} of this shop.`;
}

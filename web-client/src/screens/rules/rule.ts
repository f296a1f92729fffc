// What the pages about rules share.
// Belongs here: the words for states and actions, a new action of each kind, values in words.
// Does not belong here: the checks; the server's are asked for.
import type { RuleAction, RuleFiring, RuleState } from '../../lib/wire';

export const stateWord: Record<RuleState, string> = { off: 'Off', tried: 'Tried', on: 'On' };
export const stateShape: Record<RuleState, string> = { off: '○', tried: '◐', on: '●' };
export const stateHint: Record<RuleState, string> = { off: 'not looked at', tried: 'noted, not done', on: 'done' };

export type Do = RuleAction['do'];
export const actionWord: Record<Do, string> = {
  call_out_next: 'Call out the next person on call',
  open_second_rota: 'Open the second rota',
  defer_comfort: 'Put comfort calls off to the next open day',
  offer_remote_read: 'Offer a second read from where the reader is',
  widen_readers: 'Ask everybody who may read, now',
  delegate_approvals: 'Let somebody approve below an amount',
  ask_neighbour: 'Ask a neighbouring crew by mail',
};
export const actionOrder = Object.keys(actionWord) as Do[];

export function actionNew(kind: Do): RuleAction {
  switch (kind) {
    case 'defer_comfort':
      return { do: kind, holdover: '', at_most: 5 };
    case 'delegate_approvals':
      return { do: kind, person_id: null, up_to_cents: 100_000, hours: 12 };
    case 'ask_neighbour':
      return { do: kind, name: '', email: '', message: '' };
    default:
      return { do: kind };
  }
}

/** "urgent_unassigned 2, weekend yes". */
export function valueWords(values: RuleFiring['values']): string {
  const said = (value: boolean | number | string): string => (typeof value === 'boolean' ? (value ? 'yes' : 'no') : typeof value === 'number' ? String(Math.round(value * 1000) / 1000) : value);
  return Object.entries(values).map(([name, value]) => `${name} ${said(value)}`).join(', ');
}

/** Where a line and column lie in a text, from 0. */
export function offsetOf(text: string, line: number, column: number): number {
  const before = text.split('\n').slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0);
  return Math.min(text.length, before + column - 1);
}

/** The text with what stands at a place exchanged for what was suggested. */
export function corrected(text: string, line: number, column: number, suggestion: string): string {
  const at = offsetOf(text, line, column);
  const wrong = /^("[^"]*"?|'[^']*'?|[A-Za-z_][\w.]*|[=<>!&|+\-*/%≥≤≠–−]|.)/u.exec(text.slice(at))?.[0] ?? '';
  return text.slice(0, at) + suggestion + text.slice(at + wrong.length);
}

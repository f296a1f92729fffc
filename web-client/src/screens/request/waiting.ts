// Whether a request waits on someone.
// Belongs here: reading `may` and `owed`. Does not belong here: the rules behind them.
import type { CondemnRequest, May } from '../../lib/wire';

/** Moves that only go forward when this person makes them. */
const FORWARD: May[] = ['submit', 'take', 'commit_read', 'countersign', 'approve'];

export function waitsOn(request: CondemnRequest, person_id: string): boolean {
  if (request.may.some((may) => FORWARD.includes(may))) return true;
  if (request.asks_me) return true;
  // Held or sent back: the evidence is the requester's to complete.
  return (request.state === 'held' || request.state === 'sent_back') && request.requester.id === person_id;
}

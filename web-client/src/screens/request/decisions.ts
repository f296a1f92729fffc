// The moves of a request as buttons: their words, their address, what they ask for.
// Belongs here: words and fields. Does not belong here: whether a move is allowed.
import type { May } from '../../lib/wire';

export interface Decision {
  may: May;
  path: string;
  /** On the button that opens it. */
  word: string;
  /** On the button that does it. */
  does: string;
  /** Worth the strong button when it comes first. */
  main: boolean;
  explains?: string;
  text: { field: 'note' | 'reason' | 'found'; label: string; hint: string; needed: boolean } | null;
  amount?: boolean;
  digest?: boolean;
}

/** In the order in which they are offered. */
export const decisions: Decision[] = [
  { may: 'submit', path: 'submit', word: 'Put it to the gate', does: 'Put it to the gate', main: true, text: null },
  {
    may: 'countersign', path: 'countersign', word: 'Countersign', does: 'Countersign this evidence', main: true, digest: true,
    text: { field: 'note', label: 'Note', hint: 'What convinced you. May be left empty.', needed: false },
  },
  {
    may: 'approve', path: 'approve', word: 'Approve the cost', does: 'Approve', main: true, amount: true, digest: true,
    text: { field: 'reason', label: 'Note', hint: 'May be left empty.', needed: false },
  },
  {
    may: 'send_back', path: 'send-back', word: 'Send it back with a test', does: 'Send it back', main: false,
    text: { field: 'note', label: 'What to measure, and why', hint: 'One sentence the technician can act on.', needed: true },
  },
  // The sheet asks to whom (HandOver.svelte).
  { may: 'hand_on', path: 'hand-on', word: 'Hand it over', does: 'Hand it over', main: false, text: null },
  {
    may: 'decline', path: 'decline', word: 'Decline', does: 'Decline', main: false, digest: true,
    text: { field: 'reason', label: 'Why', hint: 'The technician and the reader see it.', needed: true },
  },
  {
    may: 'override', path: 'override', word: 'Override isolation', does: 'Override isolation', main: false,
    explains: 'Only where the part cannot be reached or is dangerous to test. It still needs the second read, and it is counted.',
    text: { field: 'reason', label: 'Why it cannot be isolated', hint: 'At least 20 letters.', needed: true },
  },
  {
    may: 'overturn', path: 'overturn', word: 'Overturn: the evidence changed the mind', does: 'Overturn it', main: false,
    explains: 'The part is not condemned. This is the number the shop is proudest of.',
    text: { field: 'found', label: 'What was found instead', hint: 'In a sentence, as you would tell a colleague.', needed: true },
  },
  {
    may: 'withdraw', path: 'withdraw', word: 'Withdraw the request', does: 'Withdraw it', main: false,
    text: { field: 'reason', label: 'Why', hint: 'In a few words.', needed: true },
  },
  { may: 'take', path: 'take', word: 'Take this second read', does: 'Take it', main: true, text: null },
  { may: 'stand_aside', path: 'stand-aside', word: 'I will not read this one', does: 'Stand aside', main: false, text: null },
];

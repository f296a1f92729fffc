// Where a request stands, as the three posts of the gate.
// Belongs here: reading a state. Does not belong here: what is allowed next; the server
// says that in `may`.
import type { CondemnRequest, RequestState } from '../lib/wire';

export type Post = 'done' | 'now' | 'owed' | 'void';

const posts: Record<RequestState, [Post, Post, Post]> = {
  draft: ['owed', 'owed', 'owed'],
  held: ['now', 'owed', 'owed'],
  sent_back: ['now', 'owed', 'owed'],
  ready: ['done', 'owed', 'owed'],
  reading: ['done', 'now', 'owed'],
  revealed: ['done', 'now', 'owed'],
  countersigned: ['done', 'done', 'now'],
  awaiting_approval: ['done', 'done', 'now'],
  approved: ['done', 'done', 'done'],
  declined: ['done', 'done', 'void'],
  withdrawn: ['void', 'void', 'void'],
  overturned: ['void', 'void', 'void'],
};

export const postsOf = (state: RequestState): [Post, Post, Post] => posts[state] ?? ['owed', 'owed', 'owed'];

export const postWord: Record<Post, string> = { done: 'Given', now: 'Now', owed: 'Still owed', void: 'Not any more' };

/** The posts of a request in full: the server's `owed` list where it has one. */
export function postsOfRequest(request: CondemnRequest): [Post, Post, Post] {
  const byState = postsOf(request.state);
  const step = (name: string, i: 0 | 1 | 2): Post => {
    const owed = request.owed.find((candidate) => candidate.step === name);
    return owed ? (owed.done ? 'done' : byState[i] === 'done' ? 'owed' : byState[i]) : byState[i];
  };
  return [step('evidence', 0), step('second_read', 1), step('approval', 2)];
}

// Steps of a ladder, as they are edited.
// Belongs here: words for groups, and minutes as a clock shows them. Does not belong here: what
// may be saved; the server says that.
import type { LadderKind, LadderStep, Person, StepWho } from '../../lib/wire';

export type Group = StepWho['group'];

const reader: Record<LadderKind, string> = { second_read: 'reader', urgent_job: 'technician', approval: 'approver' };

export function groupWord(group: Group, kind: LadderKind): string {
  const words: Record<Group, string> = {
    best: `The best placed ${reader[kind]}`,
    next: 'The next best placed',
    everyone: kind === 'approval' ? 'Everyone who may approve' : 'Everyone qualified',
    on_call: 'Whoever is on call',
    second_rota: 'The second rota',
    schedulers: 'The schedulers',
    managers: 'The managers',
    owners: 'The owners',
    delegate: 'The delegate',
    person: 'One person by name',
  };
  return words[group];
}

/** Who can stand in a step of that ladder. */
export function groupsFor(kind: LadderKind): Group[] {
  const all: Group[] = ['best', 'next', 'everyone', 'on_call', 'second_rota', 'schedulers', 'managers', 'owners', 'delegate', 'person'];
  if (kind === 'approval') return all.filter((group) => !['best', 'next', 'schedulers', 'second_rota', 'on_call'].includes(group));
  return all.filter((group) => group !== 'delegate');
}

/** A group with what it needs, to begin with. */
export function whoNew(group: Group, people: Person[]): StepWho {
  if (group === 'next') return { group, count: 2 };
  if (group === 'person') return { group, person_id: people[0]?.id ?? '' };
  return { group };
}

export function whoWords(who: StepWho, kind: LadderKind, people: Person[]): string {
  if (who.group === 'next') return `the next ${who.count}`;
  if (who.group === 'person') return people.find((one) => one.id === who.person_id)?.name ?? 'somebody who has left';
  const word = groupWord(who.group, kind);
  return word[0]!.toLowerCase() + word.slice(1);
}

export function stepWords(step: LadderStep, kind: LadderKind, people: Person[]): string {
  const who = step.who.map((one) => whoWords(one, kind, people)).join(', ');
  return `${who}, ${step.how === 'mail' ? 'on open pages and by mail' : 'on open pages only'}`;
}

/** Minutes after midnight as "21:30". */
export function hhmm(minutes: number): string {
  return `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;
}

/** "21:30" as minutes after midnight; midnight for what is no time. */
export function minutesOf(text: string): number {
  const [hours, minutes] = text.split(':').map(Number);
  return (hours || 0) * 60 + (minutes || 0);
}

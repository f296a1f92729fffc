// Who is on duty when, as far as the plan draws it.
// Belongs here: the spans and their words. Does not belong here: making a rota.
import type { Instant, Uuid } from '../../lib/wire';

export type DutyKind = 'shift' | 'on_call' | 'second' | 'leave';

export interface DutySpan {
  id: string;
  person_id: Uuid;
  kind: DutyKind;
  start_ms: number;
  end_ms: number;
}

export const dutyWord: Record<DutyKind, string> = { shift: 'shift', on_call: 'on call', second: 'second rota', leave: 'leave' };

interface Entry {
  id: Uuid;
  person: { id: Uuid };
  kind: string;
  start: Instant;
  end: Instant;
}

/** The duty between two moments; nothing where the shop keeps no rota here. */
export async function dutyOf(get: <T>(path: string) => Promise<T>, from_ms: number, to_ms: number): Promise<DutySpan[]> {
  const at = (ms: number): string => new Date(ms).toISOString();
  try {
    const answer = await get<{ entries: Entry[] }>(`/api/rota?${new URLSearchParams({ from: at(from_ms), to: at(to_ms) })}`);
    return dutySpans(answer.entries);
  } catch {
    // The plan is worth showing without its shifts.
    return [];
  }
}

/** When somebody can be called, by time; null where nobody's duty is known, and then nobody is off. */
export function dutyOfPerson(spans: DutySpan[], person_id: Uuid): DutySpan[] | null {
  const called = spans.filter((one) => one.kind === 'shift' || one.kind === 'on_call');
  if (called.length === 0) return null;
  return called.filter((one) => one.person_id === person_id).sort((a, b) => a.start_ms - b.start_ms);
}

/** Only what can be drawn: a kind that this page does not know is left to the rota's own page. */
export function dutySpans(entries: Entry[]): DutySpan[] {
  return entries.flatMap(({ id, person, kind, start, end }) =>
    kind in dutyWord ? [{ id, person_id: person.id, kind: kind as DutyKind, start_ms: Date.parse(start), end_ms: Date.parse(end) }] : [],
  );
}

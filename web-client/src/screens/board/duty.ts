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

export const dutyWord: Record<DutyKind, string> = { shift: 'shift', on_call: 'on call', second: 'second on call', leave: 'leave' };

interface Entry {
  id: Uuid;
  person_id: Uuid;
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

/** Only what can be drawn: a kind that this page does not know is left to the rota's own page. */
export function dutySpans(entries: Entry[]): DutySpan[] {
  return entries.flatMap(({ id, person_id, kind, start, end }) =>
    kind in dutyWord ? [{ id, person_id, kind: kind as DutyKind, start_ms: Date.parse(start), end_ms: Date.parse(end) }] : [],
  );
}

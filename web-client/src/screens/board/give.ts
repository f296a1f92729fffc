// Giving a job to somebody for a time, and what may come back.
// Belongs here: the one request for it. Does not belong here: choosing who and when.
import { post } from '../../lib/api';
import type { BoardJob, Named, Uuid } from '../../lib/wire';

export type Given = Pick<BoardJob, 'id' | 'version' | 'state' | 'assigned_to' | 'window_start' | 'window_end' | 'planned_start' | 'planned_end'>;
export interface Giving {
  job: { id: Uuid; version: number };
  person: Named | null;
  start_ms?: number;
  end_ms?: number;
  because?: string;
}

export function give({ job, person, start_ms, end_ms, because }: Giving): Promise<Given> {
  const at = (ms: number): string => new Date(ms).toISOString();
  return post<Given>(`/api/jobs/${job.id}/assignment`, {
    person_id: person?.id ?? null,
    version: job.version,
    ...(person && start_ms !== undefined && end_ms !== undefined ? { planned_start: at(start_ms), planned_end: at(end_ms) } : {}),
    ...(because?.trim() ? { because: because.trim() } : {}),
  });
}

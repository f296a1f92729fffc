// What went wrong, in the server's words, and where on a form it belongs.
// Belongs here: the one error type of the client. Does not belong here: showing it
// (parts/ProblemNote.svelte, parts/Field.svelte).
import type { Overlap, ProblemBody } from './wire';

/** A refusal by the server, or the absence of one (`status` 0: nothing answered). */
export class Problem extends Error {
  readonly status: number;
  /** The last segment of the problem type: "digest-changed", "blind-first". */
  readonly code: string;
  readonly title: string;
  readonly errors: { pointer: string; says: string; line?: number | null; path?: string | null }[];
  /** Only where two planned times would overlap. */
  readonly overlap: Overlap | null;

  constructor(body: ProblemBody, status = body.status ?? 0) {
    super(body.detail || body.title || 'Something went wrong that the server did not explain.');
    this.status = status;
    this.code = body.type?.split('/').pop() ?? '';
    this.title = body.title ?? '';
    this.errors = body.errors ?? [];
    this.overlap = body.overlap ?? null;
  }

  /** True when nothing reached the server or it could not answer: worth sending again. */
  get unreachable(): boolean {
    return this.status === 0 || this.status === 502 || this.status === 503 || this.status === 504;
  }

  /** What is said about a field: an exact pointer, or one inside it. */
  about(pointer: string): string | undefined {
    return this.errors
      .filter((error) => error.pointer === pointer || error.pointer.startsWith(`${pointer}/`))
      .map((error) => error.says)
      .join(' ') || undefined;
  }

  /** What no field of the form shows by itself. */
  elsewhere(shown: string[]): string[] {
    return this.errors
      .filter((error) => !shown.some((pointer) => error.pointer === pointer || error.pointer.startsWith(`${pointer}/`)))
      .map((error) => error.says);
  }
}

/** The problem said when no answer came. */
export const noAnswer = (): Problem =>
  new Problem({
    type: '/problems/no-answer',
    title: 'No answer from the server',
    detail: 'Nothing answered. You may be out of signal; what you wrote is kept here, try again when the signal is back.',
  }, 0);

/** Any thrown value as a Problem, so that a screen has one thing to show. */
export function asProblem(thrown: unknown): Problem {
  if (thrown instanceof Problem) return thrown;
  return new Problem({ title: 'This page stumbled', detail: thrown instanceof Error ? thrown.message : String(thrown) }, 0);
}

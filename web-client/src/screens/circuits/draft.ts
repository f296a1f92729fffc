// What a circuit file says about itself, and where its problems are.
// Belongs here: reading the name line and the lines in problems. Does not belong here: judging
// the file, which the server does.
import type { ProblemBody } from '../../lib/wire';

const NAME_LINE = /^name\s*=\s*"([^"]*)"/m;

/** The name that a file gives itself; empty when it gives none. */
export const nameIn = (text: string): string => NAME_LINE.exec(text)?.[1] ?? '';

/** The same file under another name. */
export const renamed = (text: string, name: string): string => text.replace(NAME_LINE, `name = "${name}"`);

export interface LineProblem { line: number | null; says: string }

/** The problems of a file, with the lines that they begin with. */
export function linesOf(errors: ProblemBody['errors']): LineProblem[] {
  return (errors ?? []).map(({ says, line }) => {
    if (line != null) return { line, says: says.replace(/^Line \d+: /, '') };
    const found = /^Line (\d+): (.*)$/s.exec(says);
    return found ? { line: Number(found[1]), says: found[2]! } : { line: null, says };
  });
}

/** From where to where a line of a text is, counted from 1. */
export function spanOfLine(text: string, line: number): [number, number] {
  const lines = text.split('\n');
  const before = lines.slice(0, line - 1);
  const start = before.reduce((sum, each) => sum + each.length + 1, 0);
  return [start, start + (lines[line - 1]?.length ?? 0)];
}

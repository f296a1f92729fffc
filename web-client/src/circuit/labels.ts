// Where words go on a drawing, so that none covers another, a symbol or a point.
// Belongs here: estimating sizes and choosing places. Does not belong here: which words.
import type { Circuit, Part } from '../lib/wire';
import { outlineOf, type Drawn, type Layout, type Spot } from './geometry';
import type { Suspicion } from './suspicion';

/** Height of a line of label text and width of its letters, px: estimates, on the safe side. */
const LINE_PX = 18;
const LETTER_PX = 8.9;
/** Letters after which a name is broken into lines beside a line that runs down. */
const WRAP_LETTERS = 11;
/** What covering one square pixel costs: of another word, of a line, outside the drawing. */
const COVER = { word: 6, line: 1.5, outside: 12 };

type Box = { x: number; y: number; w: number; h: number };

export interface Label {
  lines: string[];
  /** Middle of the first line's box; the text is anchored there. */
  x: number;
  y: number;
  anchor: 'start' | 'middle' | 'end';
  rotate: number;
}

export interface Labels {
  points: Map<string, Label>;
  names: Map<string, Label>;
  notes: Map<string, Label>;
  tags: Map<string, Spot>;
}

/** Sides of a symbol that its outline needs, across its line, px. */
const HALF_PX: Record<Part['kind'], number> = { winding: 12, lead: 5, contact: 10, overload: 16, capacitor: 17, coil: 13, switch: 8, heater: 11, fuse: 10, source: 20, mechanism: 0 };

export function isSuspect(suspicion: Suspicion): boolean {
  return suspicion.weight === 'some' || suspicion.weight === 'much' || suspicion.weight === 'most';
}

export function labelsOf(circuit: Circuit, layout: Layout, drawn: Drawn[], suspicionFor: (part: Part) => Suspicion, open: string | null): Labels {
  const taken: Box[] = [];
  const lines: Box[] = drawn.flatMap(({ line, part }) => lineBoxes(line, isSuspect(suspicionFor(part)) ? 20 : 6));
  for (const point of circuit.points) {
    const spot = layout.spot(point.at);
    const half = point.place ? 11 : 6;
    taken.push({ x: spot.x - half, y: spot.y - half, w: half * 2, h: half * 2 + (circuit.shell === point.id ? 14 : 0) });
  }
  for (const { part, middle, gap, vertical } of drawn) {
    const across = HALF_PX[part.kind];
    const along = gap / 2;
    taken.push(vertical ? { x: middle.x - across, y: middle.y - along, w: across * 2, h: along * 2 } : { x: middle.x - along, y: middle.y - across, w: along * 2, h: across * 2 });
  }

  for (const component of circuit.components) {
    const box = outlineOf(circuit, component.id, layout);
    if (box) taken.push({ x: box.x, y: box.y + box.height + 2, w: component.label.length * LETTER_PX, h: LINE_PX });
  }

  const labels: Labels = { points: new Map(), names: new Map(), notes: new Map(), tags: new Map() };
  const put = (candidates: { label: Label; far: number }[]): Label => {
    let best = candidates[0]!.label;
    let least = Infinity;
    for (const { label, far } of candidates) {
      const cost = costOf(boxOf(label), taken, lines, layout) + far;
      if (cost < least) {
        least = cost;
        best = label;
      }
    }
    taken.push(boxOf(best));
    return best;
  };

  for (const point of circuit.points) {
    if (!point.place) continue;
    const { x, y } = layout.spot(point.at);
    const words = [point.id.replaceAll('_', ' ')];
    const low = circuit.shell === point.id ? 36 : 20;
    const sides: [number, number, Label['anchor']][] = [[0, -20, 'middle'], [0, low, 'middle'], [15, 0, 'start'], [-15, 0, 'end'], [12, -16, 'start'], [-12, -16, 'end'], [12, 17, 'start'], [-12, 17, 'end']];
    labels.points.set(point.id, put(sides.map(([dx, dy, anchor], i) => ({ label: { lines: words, x: x + dx, y: y + dy, anchor, rotate: 0 }, far: i * 4 }))));
  }

  const named = drawn.filter(({ part }) => {
    const plainWire = part.kind === 'lead' || part.kind === 'contact';
    return !plainWire || isSuspect(suspicionFor(part)) || open === part.id;
  });
  const name = (each: Drawn): void => {
    const suspicion = suspicionFor(each.part);
    const share = isSuspect(suspicion) ? [`${Math.max(1, Math.round(suspicion.share * 100))} of 100`] : [];
    labels.names.set(each.part.id, put(around(each, [[each.part.label, ...share], [...wrap(each.part.label, WRAP_LETTERS), ...share]])));
  };
  const suspects = named.filter(({ part }) => isSuspect(suspicionFor(part)));
  for (const each of suspects.sort((a, b) => suspicionFor(b.part).share - suspicionFor(a.part).share)) name(each);
  for (const each of drawn) {
    const { weight, by } = suspicionFor(each.part);
    if (weight === 'excluded' && by[0]) labels.tags.set(each.part.id, middleOf(boxOf(put(around(each, [['r00x']])))));
  }
  for (const each of named) if (!labels.names.has(each.part.id)) name(each);
  for (const each of drawn) {
    const note = each.part.kind === 'lead' ? each.part.note : null;
    if (!note || note.length * LETTER_PX > each.run) continue;
    const slack = (each.run - note.length * LETTER_PX) / 2 - 14;
    labels.notes.set(each.part.id, put(beside(each, note, Math.max(0, slack))));
  }
  return labels;
}

/** Places around a symbol: across its line on both sides, then further along it. */
function around({ middle, vertical, part, run, gap }: Drawn, texts: string[][]): { label: Label; far: number }[] {
  const clear = HALF_PX[part.kind] + 8;
  const along = [0, 26, -26, 52, -52, 78, -78].filter((shift) => Math.abs(shift) < (run - gap) / 2 + 30);
  return texts.flatMap((lines, wrapped) =>
    along.flatMap((shift, i): { label: Label; far: number }[] => {
      const far = i * 30 + wrapped * (vertical ? -10 : 25);
      const height = (lines.length - 1) * LINE_PX;
      if (vertical) {
        const y = middle.y + shift - height / 2;
        return [
          { label: { lines, x: middle.x + clear, y, anchor: 'start' as const, rotate: 0 }, far },
          { label: { lines, x: middle.x - clear, y, anchor: 'end' as const, rotate: 0 }, far: far + 4 },
        ];
      }
      const x = middle.x + shift;
      return [
        { label: { lines, x, y: middle.y - clear - 6 - height, anchor: 'middle' as const, rotate: 0 }, far },
        { label: { lines, x, y: middle.y + clear + 6, anchor: 'middle' as const, rotate: 0 }, far: far + 4 },
      ];
    }),
  );
}

/** Places along a lead, on either side of it. */
function beside({ middle, vertical }: Drawn, note: string, slack: number): { label: Label; far: number }[] {
  return [0, slack / 2, -slack / 2, slack, -slack].flatMap((shift, i) =>
    [1, -1].map((side) => ({
      label: vertical
        ? { lines: [note], x: middle.x - 14 * side, y: middle.y + shift, anchor: 'middle' as const, rotate: -90 }
        : { lines: [note], x: middle.x + shift, y: middle.y + 14 * side, anchor: 'middle' as const, rotate: 0 },
      far: i * 10,
    })),
  );
}

export function wrap(text: string, letters: number): string[] {
  const rows: string[] = [];
  for (const word of text.split(' ')) {
    const last = rows.at(-1);
    if (last !== undefined && last.length + word.length < letters) rows[rows.length - 1] = `${last} ${word}`;
    else rows.push(word);
  }
  return rows;
}

export function boxOf({ lines, x, y, anchor, rotate }: Label): Box {
  const w = Math.max(...lines.map((line) => line.length)) * LETTER_PX;
  const h = lines.length * LINE_PX;
  if (rotate) return { x: x - LINE_PX / 2, y: y - w / 2, w: LINE_PX, h: w };
  const left = anchor === 'start' ? x : anchor === 'end' ? x - w : x - w / 2;
  return { x: left, y: y - LINE_PX / 2, w, h };
}

const middleOf = (box: Box): Spot => ({ x: box.x + box.w / 2, y: box.y + box.h / 2 });

function overlap(a: Box, b: Box): number {
  const w = Math.min(a.x + a.w, b.x + b.w) - Math.max(a.x, b.x);
  const h = Math.min(a.y + a.h, b.y + b.h) - Math.max(a.y, b.y);
  return w > 0 && h > 0 ? w * h : 0;
}

function costOf(box: Box, taken: Box[], lines: Box[], layout: Layout): number {
  const inside = overlap(box, { x: 3, y: 3, w: layout.width - 6, h: layout.height - 6 });
  return (
    (box.w * box.h - inside) * COVER.outside +
    taken.reduce((sum, other) => sum + overlap(box, other), 0) * COVER.word +
    lines.reduce((sum, other) => sum + overlap(box, other), 0) * COVER.line
  );
}

/** The straight pieces of a path as thin boxes; slanting ones as the box around them. */
function lineBoxes(path: string, thick: number): Box[] {
  const spots = path.slice(1).split('L').map((pair) => pair.split(' ').map(Number) as [number, number]);
  return spots.slice(1).map(([x, y], i) => {
    const [px, py] = spots[i]!;
    return { x: Math.min(x, px) - thick / 2, y: Math.min(y, py) - thick / 2, w: Math.abs(x - px) + thick, h: Math.abs(y - py) + thick };
  });
}


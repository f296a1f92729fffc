// Where things are drawn: from grid squares to pixels, and where a symbol sits on its line.
// Belongs here: plane geometry. Does not belong here: symbols (Symbol.svelte) and meaning.
import type { Circuit, Part, Point } from '../lib/wire';
import { widthOf } from './measure';

/** A point's target is at least this wide; the drawing never shrinks below it. */
export const TARGET_PX = 48;
/** Below this width the long side of a drawing runs down the page instead of across. */
const DOWN_BELOW_PX = 620;
/** A grid square is never larger: beyond this a drawing only gets emptier. */
const SQUARE_MAX_PX = 58;
const MARGIN_PX = 46;
const MECHANISM_HEIGHT_PX = 40;
const MECHANISM_GAP_PX = 12;
/** Free space beside a mechanism's words, both sides together. */
const MECHANISM_PAD_PX = 24;
/** A drawing that runs down is drawn this much longer, so that names find room beside their parts. */
const DOWN_STRETCH = 1.25;
/** One with more parts than this is drawn longer still, by each part over what had room. */
const DOWN_PARTS = { most: 15, room: 9 };
/** A grid square that is stretched downwards is never higher. */
const SQUARE_DOWN_MAX_PX = 150;

export type Spot = { x: number; y: number };

export interface Layout {
  width: number;
  height: number;
  square: number;
  down: boolean;
  spot(at: [number, number]): Spot;
  mechanisms: { part: Part; says: string; x: number; y: number; width: number; height: number }[];
}

export interface Drawn {
  part: Part;
  /** The whole line, for targets and hatching. */
  line: string;
  /** The line without the piece that the symbol takes. */
  wires: string[];
  /** Where the symbol is, and the direction of its line in degrees. */
  middle: Spot;
  angle: number;
  /** Length kept free for the symbol. */
  gap: number;
  /** Length of the straight piece that the symbol sits on. */
  run: number;
  vertical: boolean;
}

/** Length of line that each symbol takes, px. */
export const SYMBOL_PX: Record<Part['kind'], number> = {
  winding: 56, lead: 0, contact: 26, overload: 48, capacitor: 14, coil: 40, switch: 40, heater: 52, fuse: 40, source: 36, diode: 18, mechanism: 0,
};
/** Line left open where something is lifted, px. */
const LIFTED_GAP_PX = { lead: 30, contact: 54 };

/** `says` gives the words of a part that has a box instead of a line; the box is made to hold them. */
export function layoutOf(circuit: Circuit, width_px: number, says: (part: Part) => string = (part) => part.label): Layout {
  const down = width_px < DOWN_BELOW_PX;
  const turn = ([x, y]: [number, number]): [number, number] => (down ? [y, x] : [x, y]);
  const all = [...circuit.points.map((point) => point.at), ...circuit.parts.flatMap((part) => part.via ?? [])].map(turn);
  const xs = all.map(([x]) => x);
  const ys = all.map(([, y]) => y);
  const left = Math.min(...xs);
  const top = Math.min(...ys);
  const span_x = Math.max(1, Math.max(...xs) - left);
  const span_y = Math.max(1, Math.max(...ys) - top);
  const square = Math.min(SQUARE_MAX_PX, Math.max((width_px - 2 * MARGIN_PX) / span_x, TARGET_PX / nearest(circuit.points)));
  const width = Math.max(width_px, span_x * square + 2 * MARGIN_PX);
  const shift = (width - span_x * square) / 2;
  const lines = circuit.parts.filter((part) => part.between).length;
  const many = lines > DOWN_PARTS.most;
  const stretch = DOWN_STRETCH * (many ? lines / DOWN_PARTS.room : 1);
  const square_y = down ? Math.min(many ? SQUARE_DOWN_MAX_PX : SQUARE_MAX_PX, square * stretch) : square;
  const body = span_y * square_y + 2 * MARGIN_PX;

  const mechanisms: Layout['mechanisms'] = [];
  let x = 8;
  let y = body;
  for (const part of circuit.parts.filter((candidate) => !candidate.between)) {
    const words = says(part);
    const wide = Math.min(widthOf(words) + MECHANISM_PAD_PX, width - 16);
    if (x > 8 && x + wide > width - 8) {
      x = 8;
      y += MECHANISM_HEIGHT_PX + MECHANISM_GAP_PX;
    }
    mechanisms.push({ part, says: words, x, y, width: wide, height: MECHANISM_HEIGHT_PX });
    x += wide + MECHANISM_GAP_PX;
  }
  return {
    width,
    height: mechanisms.length ? y + MECHANISM_HEIGHT_PX + 8 : body,
    square,
    down,
    mechanisms,
    spot(at) {
      const [px, py] = turn(at);
      return { x: shift + (px - left) * square, y: MARGIN_PX + (py - top) * square_y };
    },
  };
}

/** The smallest distance between two points that can be probed, in grid squares. */
function nearest(points: Point[]): number {
  const probed = points.filter((point) => point.place);
  let least = Infinity;
  for (const [i, a] of probed.entries()) {
    for (const b of probed.slice(i + 1)) least = Math.min(least, Math.max(Math.abs(a.at[0] - b.at[0]), Math.abs(a.at[1] - b.at[1])));
  }
  return Number.isFinite(least) && least > 0 ? least : 1;
}

/** A part's line in grid squares, corner by corner; null for one that has none. */
export function cornersOf(circuit: Circuit, part: Part): [number, number][] | null {
  const ends = part.between?.map((id) => circuit.points.find((point) => point.id === id));
  if (!ends?.[0] || !ends[1]) return null;
  return [ends[0].at, ...(part.via ?? []), ends[1].at];
}

type Piece = [[number, number], [number, number]];

const pieces = (corners: [number, number][]): Piece[] => corners.slice(1).map((end, i) => [corners[i]!, end]);

/** Whether two straight pieces lie on one line and share more of it than a point. */
export function runAlong([a, b]: Piece, [c, d]: Piece): boolean {
  const [ux, uy] = [b[0] - a[0], b[1] - a[1]];
  const whole = Math.hypot(ux, uy);
  const aside = ([x, y]: [number, number]): number => Math.abs(ux * (y - a[1]) - uy * (x - a[0])) / whole;
  const along = ([x, y]: [number, number]): number => (ux * (x - a[0]) + uy * (y - a[1])) / whole;
  if (whole === 0 || aside(c) > 0.01 || aside(d) > 0.01) return false;
  return Math.min(whole, Math.max(along(c), along(d))) - Math.max(0, Math.min(along(c), along(d))) > 0.01;
}

export function drawnOf(circuit: Circuit, part: Part, layout: Layout, lifted: boolean): Drawn | null {
  if (!part.between) return null;
  const corners = cornersOf(circuit, part);
  if (!corners) return null;
  const spots = corners.map((at) => layout.spot(at));
  // A piece that another part's line runs along would show the symbol in that line, too.
  const others = circuit.parts.filter((other) => other !== part).flatMap((other) => pieces(cornersOf(circuit, other) ?? []));
  const alone = pieces(corners).map((piece) => !others.some((other) => runAlong(piece, other)));
  let best = Math.max(0, alone.indexOf(true));
  for (let i = best + 1; i < spots.length - 1; i += 1) {
    if ((alone[i] || !alone[best]) && length(spots[i]!, spots[i + 1]!) > length(spots[best]!, spots[best + 1]!) + 0.5) best = i;
  }
  const a = spots[best]!;
  const b = spots[best + 1]!;
  const run = length(a, b);
  const wanted = lifted && (part.kind === 'lead' || part.kind === 'contact') ? LIFTED_GAP_PX[part.kind] : SYMBOL_PX[part.kind];
  const gap = Math.min(wanted, run * 0.7);
  const unit = { x: (b.x - a.x) / (run || 1), y: (b.y - a.y) / (run || 1) };
  const middle = { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 };
  const before = { x: middle.x - (unit.x * gap) / 2, y: middle.y - (unit.y * gap) / 2 };
  const after = { x: middle.x + (unit.x * gap) / 2, y: middle.y + (unit.y * gap) / 2 };
  const wires = gap === 0 ? [path(spots)] : [path([...spots.slice(0, best + 1), before]), path([after, ...spots.slice(best + 1)])];
  const angle = (Math.atan2(b.y - a.y, b.x - a.x) * 180) / Math.PI;
  return { part, line: path(spots), wires, middle, angle, gap, run, vertical: Math.abs(b.y - a.y) > Math.abs(b.x - a.x) };
}

/** The outline of a bought component around the parts drawn inside it. */
export function outlineOf(circuit: Circuit, component: string, layout: Layout): { x: number; y: number; width: number; height: number } | null {
  const inside = circuit.parts.filter((part) => part.component === component && part.between);
  if (!inside.some((part) => part.kind === 'winding')) return null;
  const spots = inside.flatMap((part) => [
    ...circuit.points.filter((point) => part.between!.includes(point.id)).map((point) => layout.spot(point.at)),
    ...(part.via ?? []).map((at) => layout.spot(at)),
  ]);
  const pad = layout.square * 0.6;
  const x = Math.min(...spots.map((spot) => spot.x)) - pad;
  const y = Math.min(...spots.map((spot) => spot.y)) - pad;
  return {
    x, y,
    width: Math.min(Math.max(...spots.map((spot) => spot.x)) + pad * 1.4, layout.width - 3) - x,
    height: Math.max(...spots.map((spot) => spot.y)) + pad - y,
  };
}

/** The nearest of some points in a direction, for moving with the arrow keys. */
export function neighbour(from: Spot, others: { id: string; spot: Spot }[], key: string): string | null {
  const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[key];
  if (!way) return null;
  let best: string | null = null;
  let least = Infinity;
  for (const { id, spot } of others) {
    const along = (spot.x - from.x) * way[0]! + (spot.y - from.y) * way[1]!;
    if (along < 1) continue;
    const aside = Math.abs((spot.x - from.x) * way[1]!) + Math.abs((spot.y - from.y) * way[0]!);
    const cost = along + 2.5 * aside;
    if (cost < least) {
      least = cost;
      best = id;
    }
  }
  return best;
}

const length = (a: Spot, b: Spot): number => Math.hypot(b.x - a.x, b.y - a.y);
const round = (n: number): number => Math.round(n * 10) / 10;
const path = (spots: Spot[]): string => spots.map((spot, i) => `${i ? 'L' : 'M'}${round(spot.x)} ${round(spot.y)}`).join('');

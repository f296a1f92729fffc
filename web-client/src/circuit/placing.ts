// Finding room for words: each goes where it covers least, and one without room is left out.
// Belongs here: boxes and the search. Does not belong here: which places a word may take
// (labels.ts).
import type { Spot } from './geometry';
import { widthOf } from './measure';

/** Height of a line of label text, px. */
export const LINE_PX = 18;
/** What covering one square pixel costs: of another word, of a line, outside the drawing. */
const COVER = { word: 8, line: 2, outside: 40 };
/** How often every word may move again once the others have moved. */
const ROUNDS = 4;
/** Size of the boxes that a leader is taken apart into. */
const DOT_PX = 7;
/** A word that would cover more than this of another, in square pixels, looks further away or is left out. */
const CLASH_MAX_PX2 = 24;
/** A place that costs more than this is worth looking further away. */
const DEAR = 260;
/** What a leader costs for each pixel of it that runs over a word, a point or a symbol. */
const LEADER_OVER = 30;
/** What such a clash costs besides: further away with a line to it is better. */
const CLASH = 500;

export type Box = { x: number; y: number; w: number; h: number };

export interface Label {
  lines: string[];
  /** Middle of the first line's box; the text is anchored there. */
  x: number;
  y: number;
  anchor: 'start' | 'middle' | 'end';
  rotate: number;
  bold?: boolean;
  /** A thin line from the label to what it names, where it stands apart from it. */
  leader?: [Spot, Spot];
}

/** A place, and what it costs to be there: further from its own part is dearer. */
export interface Place {
  label: Label;
  far: number;
}

/** A word that wants a place: those close by, and those to look at when none of them is free. */
export interface Wanted {
  id: string;
  /** Never left out: others give way. */
  always?: boolean;
  near: Place[];
  wide?: () => Place[];
}

interface Option {
  label: Label;
  box: Box;
  cost: number;
  /** How much of what cannot move it covers, or of the outside. */
  clash: number;
}

interface Item {
  wanted: Wanted;
  options: Option[];
  at: Option | null;
}

/** The most important first. A word without a place of its own is not in the answer. */
export function placesFor(wanted: Wanted[], sheet: { width: number; height: number }, taken: Box[], lines: Box[]): Map<string, Label> {
  const inner = { x: 2, y: 2, w: sheet.width - 4, h: sheet.height - 4 };
  const option = ({ label, far }: Place): Option => {
    const box = boxOf(label);
    const outside = box.w * box.h - overlap(box, inner);
    const covered = sum(taken, box);
    const over = label.leader ? dots(label.leader).reduce((all, dot) => all + (sum(taken, dot) > 0 ? DOT_PX : 0), 0) : 0;
    return { label, box, cost: far + over * LEADER_OVER + outside * COVER.outside + wordCost(covered) + sum(lines, box) * COVER.line, clash: outside + covered };
  };
  // There are many places further away, and those on top of something are of no use.
  const free = ({ label }: Place): boolean => {
    const box = boxOf(label);
    return box.w * box.h - overlap(box, inner) <= 0 && !taken.some((other) => overlap(box, other) > CLASH_MAX_PX2);
  };
  const options = (places: Place[]): Option[] => places.map(option).sort((a, b) => a.cost - b.cost);
  const items: Item[] = wanted.map((each) => ({ wanted: each, options: options(each.near), at: null }));
  const others = (item: Item): Box[] => items.flatMap((other) => (other !== item && other.at ? [other.at.box] : []));
  const clash = (item: Item): number => (item.at ? item.at.clash + sum(others(item), item.at.box) : 0);
  const cost = (item: Item): number => (item.at ? item.at.cost + wordCost(sum(others(item), item.at.box)) : 0);
  const settle = (order: Item[]): void => {
    for (let round = 0; round < ROUNDS; round += 1) {
      let moved = false;
      for (const item of order) {
        const best = bestOf(item.options, others(item));
        moved ||= best !== item.at;
        item.at = best;
      }
      if (!moved) return;
    }
  };
  /** Whoever comes first takes the best place: beginning from either end, the better one stays. */
  const settleBest = (): void => {
    let least = Infinity;
    let best: (Option | null)[] = [];
    for (const order of [items, items.filter(named).concat(items.filter((item) => !named(item))), [...items].reverse()]) {
      for (const item of items) item.at = null;
      settle(order);
      const total = items.reduce((all, item) => all + cost(item), 0);
      if (total < least) [least, best] = [total, items.map((item) => item.at)];
    }
    for (const [i, item] of items.entries()) item.at = best[i] ?? null;
  };

  settleBest();
  const crowded = items.filter((item) => clash(item) > CLASH_MAX_PX2 || cost(item) > DEAR);
  if (crowded.length) {
    for (const item of crowded) item.options = options([...item.wanted.near, ...(item.wanted.wide?.() ?? []).filter(free)]);
    settleBest();
  }
  for (const item of [...items].reverse()) if (!item.wanted.always && clash(item) > CLASH_MAX_PX2) item.at = null;
  return new Map(items.flatMap(({ wanted: { id }, at }) => (at ? [[id, at.label] as const] : [])));
}

/** A leader as small boxes, leaving out its foot, which is on its part. */
function dots([head, foot]: [Spot, Spot]): Box[] {
  const count = Math.max(0, Math.floor(Math.hypot(foot.x - head.x, foot.y - head.y) / DOT_PX) - 2);
  const at = (from: number, to: number, i: number): number => from + ((to - from) * i) / (count + 2) - DOT_PX / 2;
  return Array.from({ length: count }, (_, i) => ({ x: at(head.x, foot.x, i), y: at(head.y, foot.y, i), w: DOT_PX, h: DOT_PX }));
}

const named = (item: Item): boolean => item.wanted.wide !== undefined;
const wordCost = (covered_px2: number): number => covered_px2 * COVER.word + (covered_px2 > CLASH_MAX_PX2 ? CLASH : 0);

/** Options come cheapest first, so the search ends where standing alone already costs more. */
function bestOf(options: Option[], others: Box[]): Option | null {
  let best: Option | null = null;
  let least = Infinity;
  for (const option of options) {
    if (option.cost >= least) break;
    const cost = option.cost + wordCost(sum(others, option.box));
    if (cost < least) {
      least = cost;
      best = option;
    }
  }
  return best;
}

/** The same lines are tried in many places; they are as wide in each. */
const widths = new WeakMap<string[], number>();

export function boxOf({ lines, x, y, anchor, rotate, bold }: Label): Box {
  const w = widths.get(lines) ?? Math.max(...lines.map((line) => widthOf(line, bold))) + 4;
  widths.set(lines, w);
  const h = lines.length * LINE_PX + 2;
  if (rotate) return { x: x - h / 2, y: y - w / 2, w: h, h: w };
  const left = anchor === 'start' ? x - 2 : anchor === 'end' ? x - w + 2 : x - w / 2;
  return { x: left, y: y - LINE_PX / 2 - 1, w, h };
}

function sum(boxes: Box[], box: Box): number {
  let all = 0;
  for (const other of boxes) all += overlap(box, other);
  return all;
}

export function overlap(a: Box, b: Box): number {
  const w = Math.min(a.x + a.w, b.x + b.w) - Math.max(a.x, b.x);
  const h = Math.min(a.y + a.h, b.y + b.h) - Math.max(a.y, b.y);
  return w > 0 && h > 0 ? w * h : 0;
}

/** The straight pieces of a path as thin boxes; slanting ones as the box around them. */
export function lineBoxes(path: string, thick: number): Box[] {
  const spots = path.slice(1).split('L').map((pair) => pair.split(' ').map(Number) as [number, number]);
  return spots.slice(1).map(([x, y], i) => {
    const [px, py] = spots[i]!;
    return { x: Math.min(x, px) - thick / 2, y: Math.min(y, py) - thick / 2, w: Math.abs(x - px) + thick, h: Math.abs(y - py) + thick };
  });
}

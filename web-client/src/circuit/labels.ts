// Which words stand on a drawing, and the places that each may take.
// Belongs here: points, parts, readings that excluded a part, notes on leads. Does not belong
// here: choosing among the places (placing.ts).
import type { Circuit, Part } from '../lib/wire';
import { outOf100 } from '../lib/words';
import { outlineOf, type Drawn, type Layout, type Spot } from './geometry';
import { widthOf } from './measure';
import { boxOf, LINE_PX, lineBoxes, placesFor, type Box, type Label, type Place, type Wanted } from './placing';
import type { Suspicion } from './suspicion';

/** Letters after which a name is broken into lines, from roomy to narrow. */
const WRAPS = [11, 7];
/** A suspect's share without its name costs this: it is better than covering another word. */
const NAMELESS = 700;
/** How far a name may stand from its part, with a line to it, and in which steps, px. */
const WIDE_PX = { x: 150, y: 110, step_x: 15, step_y: 11 };
/** Breadth of the hatching of a suspect's line, px. */
const HATCH_PX = 24;
/** Sides of a symbol that its outline needs, across its line, px. */
const HALF_PX: Record<Part['kind'], number> = { winding: 12, lead: 5, contact: 10, overload: 16, capacitor: 17, coil: 13, switch: 8, heater: 11, fuse: 10, source: 20, diode: 12, mechanism: 0 };

export interface Labels {
  points: Map<string, Label>;
  names: Map<string, Label>;
  notes: Map<string, Label>;
  tags: Map<string, Spot>;
}

export function isSuspect(suspicion: Suspicion): boolean {
  return suspicion.weight === 'some' || suspicion.weight === 'much' || suspicion.weight === 'most';
}

export function labelsOf(circuit: Circuit, layout: Layout, drawn: Drawn[], suspicionFor: (part: Part) => Suspicion, open: string | null): Labels {
  const suspect = (each: Drawn): boolean => isSuspect(suspicionFor(each.part));
  const name = (each: Drawn): Wanted => {
    const { label } = each.part;
    const share = suspect(each) ? [outOf100(suspicionFor(each.part).share)] : [];
    const texts = [[label, ...share], ...WRAPS.map((letters) => [...wrap(label, letters), ...share])];
    return {
      id: `name ${each.part.id}`,
      near: [...around(each, texts, suspect(each)), ...(share.length ? around(each, [share], true).map(dearer) : [])],
      wide: () => apart(each, texts, suspect(each)),
    };
  };
  const named = drawn.filter((each) => !plainWire(each.part) || suspect(each) || open === each.part.id);
  const suspects = named.filter(suspect).sort((a, b) => suspicionFor(b.part).share - suspicionFor(a.part).share);
  const wanted: Wanted[] = [
    ...circuit.points.filter((point) => point.place).map((point) => ({ id: `point ${point.id}`, always: true, near: besidePoint(point.id, layout.spot(point.at), circuit.shell === point.id) })),
    ...suspects.map(name),
    ...drawn
      .filter(({ part }) => suspicionFor(part).weight === 'excluded' && suspicionFor(part).by[0])
      .map((each) => ({ id: `tag ${each.part.id}`, near: around(each, [['r00x']], false) })),
    ...named.filter((each) => !suspect(each)).map(name),
    ...drawn.flatMap((each) => {
      const note = each.part.kind === 'lead' ? each.part.note : null;
      const slack = note ? (each.run - widthOf(note)) / 2 - 14 : -1;
      return note && slack > -14 ? [{ id: `note ${each.part.id}`, near: beside(each, note, Math.max(0, slack), suspect(each)) }] : [];
    }),
  ];
  const found = placesFor(wanted, layout, fixedOf(circuit, layout, drawn), linesOf(circuit, layout, drawn, suspect));
  const of = (kind: string): [string, Label][] => [...found].flatMap(([id, label]) => (id.startsWith(`${kind} `) ? [[id.slice(kind.length + 1), label]] : []));
  return {
    points: new Map(of('point')),
    names: new Map(of('name')),
    notes: new Map(of('note')),
    tags: new Map(of('tag').map(([id, label]) => [id, middleOf(boxOf(label))])),
  };
}

const plainWire = (part: Part): boolean => part.kind === 'lead' || part.kind === 'contact';
const dearer = ({ label, far }: Place): Place => ({ label, far: far + NAMELESS });

/** What words must not cover: points, symbols, the names of components, mechanisms. */
function fixedOf(circuit: Circuit, layout: Layout, drawn: Drawn[]): Box[] {
  return [
    ...circuit.points.map((point) => {
      const spot = layout.spot(point.at);
      const half = point.place ? 11 : 6;
      return { x: spot.x - half, y: spot.y - half, w: half * 2, h: half * 2 + (circuit.shell === point.id ? 14 : 0) };
    }),
    ...drawn.map(({ part, middle, gap, vertical }) => {
      const across = HALF_PX[part.kind];
      return vertical ? { x: middle.x - across, y: middle.y - gap / 2, w: across * 2, h: gap } : { x: middle.x - gap / 2, y: middle.y - across, w: gap, h: across * 2 };
    }),
    ...circuit.components.flatMap((component) => {
      const box = outlineOf(circuit, component.id, layout);
      return box ? [{ x: box.x, y: box.y + box.height + 4, w: widthOf(component.label) + 10, h: LINE_PX }] : [];
    }),
    ...layout.mechanisms.map(({ x, y, width, height }) => ({ x, y, w: width, h: height })),
  ];
}

/** What words should rather not cover: lines with their hatching, outlines of components. */
function linesOf(circuit: Circuit, layout: Layout, drawn: Drawn[], suspect: (each: Drawn) => boolean): Box[] {
  return [
    ...drawn.flatMap((each) => lineBoxes(each.line, suspect(each) ? HATCH_PX : 6)),
    ...circuit.components.flatMap((component) => {
      const box = outlineOf(circuit, component.id, layout);
      if (!box) return [];
      const [right, bottom] = [box.x + box.width, box.y + box.height];
      return lineBoxes(`M${box.x} ${box.y}L${right} ${box.y}L${right} ${bottom}L${box.x} ${bottom}L${box.x} ${box.y}`, 2);
    }),
  ];
}

function besidePoint(id: string, { x, y }: Spot, shell: boolean): Place[] {
  const low = shell ? 36 : 20;
  const sides: [number, number, Label['anchor']][] = [[0, -20, 'middle'], [0, low, 'middle'], [15, 0, 'start'], [-15, 0, 'end'], [12, -16, 'start'], [-12, -16, 'end'], [12, 17, 'start'], [-12, 17, 'end']];
  return sides.map(([dx, dy, anchor], i) => ({ label: { lines: [id.replaceAll('_', ' ')], x: x + dx, y: y + dy, anchor, rotate: 0, bold: true }, far: i * 4 }));
}

/** Places around a symbol: across its line on both sides, then further along it. */
function around({ middle, vertical, part, run, gap }: Drawn, texts: string[][], suspect: boolean): Place[] {
  const clear = Math.max(HALF_PX[part.kind], suspect ? HATCH_PX / 2 : 0) + 5;
  const end = Math.max(0, (run - gap) / 2 + 30);
  const along = [0, ...Array.from({ length: Math.ceil(end / 13) }, (_, i) => (i + 1) * 13).flatMap((shift) => [shift, -shift])];
  return texts.flatMap((lines, wrapped) =>
    along.flatMap((shift): Place[] => {
      const far = Math.abs(shift) * (part.kind === 'lead' ? 0.5 : 1.1) + wrapped * (vertical ? -5 : 25);
      const height = (lines.length - 1) * LINE_PX;
      const at = (x: number, y: number, anchor: Label['anchor'], more: number): Place => ({ label: { lines, x, y, anchor, rotate: 0, bold: suspect }, far: far + more });
      if (vertical) {
        const y = middle.y + shift - height / 2;
        return [at(middle.x + clear, y, 'start', 0), at(middle.x - clear, y, 'end', 4)];
      }
      const x = middle.x + shift;
      return [at(x, middle.y - clear - 6 - height, 'middle', 0), at(x, middle.y + clear + 6, 'middle', 4)];
    }),
  );
}

/** Places further away, each with a line to the part it names. */
function apart(each: Drawn, texts: string[][], suspect: boolean): Place[] {
  const places: Place[] = [];
  for (let dy = -WIDE_PX.y; dy <= WIDE_PX.y; dy += WIDE_PX.step_y) {
    for (let dx = -WIDE_PX.x; dx <= WIDE_PX.x; dx += WIDE_PX.step_x) {
      for (const [i, lines] of texts.entries()) {
        const label: Label = { lines, x: each.middle.x + dx, y: each.middle.y + dy, anchor: 'middle', rotate: 0, bold: suspect };
        const box = boxOf(label);
        const foot = footOf(each, middleOf(box));
        const head = { x: clamp(foot.x, box.x, box.x + box.w), y: clamp(foot.y, box.y, box.y + box.h) };
        const long = Math.hypot(head.x - foot.x, head.y - foot.y);
        places.push({ label: { ...label, leader: [head, foot] }, far: 60 + long * 3 + i * 5 });
      }
    }
  }
  return places;
}

/** Where a line to a part ends: its symbol, or for a lead the spot nearest to where it comes from. */
function footOf({ part, middle, angle, run }: Drawn, to: Spot): Spot {
  if (part.kind !== 'lead') return middle;
  const unit = { x: Math.cos((angle * Math.PI) / 180), y: Math.sin((angle * Math.PI) / 180) };
  const half = Math.max(0, run / 2 - 12);
  const along = clamp((to.x - middle.x) * unit.x + (to.y - middle.y) * unit.y, -half, half);
  return { x: middle.x + unit.x * along, y: middle.y + unit.y * along };
}

/** Places along a lead, on either side of it. */
function beside({ middle, vertical }: Drawn, note: string, slack: number, suspect: boolean): Place[] {
  const off = suspect ? HATCH_PX / 2 + 8 : 14;
  return [0, slack / 2, -slack / 2, slack, -slack].flatMap((shift, i) =>
    [1, -1].map((side) => ({
      label: vertical
        ? { lines: [note], x: middle.x - off * side, y: middle.y + shift, anchor: 'middle' as const, rotate: -90 }
        : { lines: [note], x: middle.x + shift, y: middle.y + off * side, anchor: 'middle' as const, rotate: 0 },
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

const clamp = (n: number, low: number, high: number): number => Math.min(high, Math.max(low, n));
const middleOf = (box: Box): Spot => ({ x: box.x + box.w / 2, y: box.y + box.h / 2 });

// The drawing promises: a symbol per part, honest reach, suspicion as weight and hatch.
import { render, screen } from '@testing-library/svelte';
import userEvent from '@testing-library/user-event';
import { describe, expect, it, vi } from 'vitest';
import { shipped, shippedNames, verdictWith } from '../test/shipped';
import CircuitDrawing from './CircuitDrawing.svelte';
import { cornersOf, drawnOf, layoutOf, runAlong, TARGET_PX } from './geometry';
import { labelsOf } from './labels';
import { widthOf } from './measure';
import { boxOf, overlap } from './placing';
import type { Part } from '../lib/wire';
import type { Suspicion } from './suspicion';

/** Boxes of words have air around the letters: so much of them may touch, in square pixels. */
const SLIVER_PX2 = 24;
const plug = shipped('compressor-1ph-plug');
const draw = (change: object = {}) => render(CircuitDrawing, { circuit: plug, verdict: null, lifted: [], picked: [], ...change });

describe.each(shippedNames)('circuit %s', (name) => {
  const circuit = shipped(name);

  it('draws every part with the symbol of its kind and every probed point as a target', () => {
    const { container } = render(CircuitDrawing, { circuit, verdict: null, lifted: [], picked: [] });
    for (const part of circuit.parts) {
      const drawn = container.querySelector(`[data-part="${part.id}"]`);
      expect(drawn, part.id).not.toBeNull();
      expect(drawn!.querySelector(`[data-symbol="${part.kind}"]`), `${part.id} as ${part.kind}`).not.toBeNull();
    }
    for (const point of circuit.points.filter((candidate) => candidate.place)) {
      const target = container.querySelector(`[data-point="${point.id}"] .target`)!;
      expect(Number(target.getAttribute('width'))).toBeGreaterThanOrEqual(48);
    }
  });

  it.each([288, 358, 700, 900])('keeps targets apart at %i px', (width) => {
    const layout = layoutOf(circuit, width);
    const spots = circuit.points.filter((point) => point.place).map((point) => layout.spot(point.at));
    for (const [i, a] of spots.entries()) {
      for (const b of spots.slice(i + 1)) expect(Math.max(Math.abs(a.x - b.x), Math.abs(a.y - b.y))).toBeGreaterThanOrEqual(TARGET_PX - 0.01);
    }
  });

  it.each([358, 900])('draws every symbol on a wire that is its part’s alone at %i px', (width) => {
    const layout = layoutOf(circuit, width);
    const lines = circuit.parts.map((part) => ({ part, corners: (cornersOf(circuit, part) ?? []).map((at) => layout.spot(at)).map(({ x, y }): [number, number] => [x, y]) }));
    for (const part of circuit.parts) {
      const drawn = drawnOf(circuit, part, layout, false);
      if (!drawn || drawn.gap === 0) continue;
      const along = (drawn.angle * Math.PI) / 180;
      const [dx, dy] = [(Math.cos(along) * drawn.gap) / 2, (Math.sin(along) * drawn.gap) / 2];
      const symbol: [[number, number], [number, number]] = [[drawn.middle.x - dx, drawn.middle.y - dy], [drawn.middle.x + dx, drawn.middle.y + dy]];
      for (const { part: other, corners } of lines.filter((one) => one.part !== part)) {
        for (const [i, end] of corners.slice(1).entries()) expect(runAlong(symbol, [corners[i]!, end]), `${part.id} on the line of ${other.id}`).toBe(false);
      }
    }
  });

  /** Everything drawn with these parts suspect and the others plain. */
  const words = (width: number, suspect: (part: string) => boolean) => {
    const layout = layoutOf(circuit, width, (part) => `${part.label}${suspect(part.id) ? ' · 12 of 100' : ''}`);
    const drawn = circuit.parts.flatMap((part) => drawnOf(circuit, part, layout, false) ?? []);
    const suspicion = (part: Part): Suspicion => (suspect(part.id) ? { weight: 'much', share: 0.12, by: [], faults: [] } : { weight: 'plain', share: 0, by: [], faults: [] });
    const labels = labelsOf(circuit, layout, drawn, suspicion, null);
    return { layout, drawn, labels, all: [...labels.points, ...labels.names, ...labels.notes].map(([id, label]) => ({ id, box: boxOf(label) })) };
  };
  // At 12 of 100 each there are eight at most: neighbours in the file, which are neighbours on
  // the drawing and so the hardest eight.
  const SUSPECTS = 8;
  const parts = circuit.parts.map((part) => part.id);
  const groups = Array.from({ length: Math.ceil(parts.length / SUSPECTS) }, (_, group) => parts.slice(group * SUSPECTS, (group + 1) * SUSPECTS));

  it.each([288, 358, 700, 900])('keeps every word inside the drawing and off every other at %i px, whichever eight parts are suspect', (width) => {
    for (const group of groups) {
      const { layout, labels, all } = words(width, (part) => group.includes(part));
      for (const [i, { id, box }] of all.entries()) {
        expect(box.x, id).toBeGreaterThanOrEqual(0);
        expect(box.y, id).toBeGreaterThanOrEqual(0);
        expect(box.x + box.w, id).toBeLessThanOrEqual(layout.width);
        expect(box.y + box.h, id).toBeLessThanOrEqual(layout.height);
        for (const other of all.slice(i + 1)) expect(overlap(box, other.box), `${id} on ${other.id}`).toBeLessThanOrEqual(SLIVER_PX2);
      }
      for (const point of circuit.points.filter((candidate) => candidate.place)) expect(labels.points.has(point.id), point.id).toBe(true);
    }
  });

  it('names every suspect on a phone', () => {
    for (const group of groups) {
      const { drawn, labels } = words(358, (part) => group.includes(part));
      for (const { part } of drawn.filter((one) => group.includes(one.part.id))) {
        expect(labels.names.get(part.id)?.lines.at(-1), part.id).toBe('12 of 100');
      }
    }
  });

  it('makes the box of a part without a line as wide as its words', () => {
    for (const box of words(358, () => false).layout.mechanisms) {
      expect(box.width).toBeGreaterThan(widthOf(box.says));
      expect(box.x + box.width).toBeLessThanOrEqual(358);
    }
  });
});

it('says what to lift for a point out of reach, and does not put a probe there', async () => {
  const onpick = vi.fn();
  const onshut = vi.fn();
  draw({ onpick, onshut });
  const pin = screen.getByRole('button', { name: /compressor pin C\. Lift compressor plug to reach it/ });
  expect(pin).toHaveAttribute('aria-disabled', 'true');
  await userEvent.click(pin);
  expect(onpick).not.toHaveBeenCalled();
  expect(onshut).toHaveBeenCalledWith('C');
});

it('puts a probe on a point once its connector is lifted, and draws the plug apart', async () => {
  const onpick = vi.fn();
  const { container } = draw({ lifted: ['plug'], onpick });
  await userEvent.click(screen.getByRole('button', { name: /compressor pin C\. Within reach/ }));
  expect(onpick).toHaveBeenCalledWith('C');
  expect(container.querySelector('[data-part="plug_c"]')).toHaveAttribute('data-lifted', 'true');
  expect(container.querySelector('[data-part="lead_c"]')).toHaveAttribute('data-lifted', 'false');
});

it('moves between points with the arrow keys, one tab stop for the whole drawing', async () => {
  const onpick = vi.fn();
  const { container } = draw({ onpick });
  expect(container.querySelectorAll('[data-point][tabindex="0"]')).toHaveLength(1);
  container.querySelector<SVGGElement>('[data-point="T1"]')!.focus();
  await userEvent.keyboard('{ArrowDown}{Enter}');
  expect(onpick).toHaveBeenCalledOnce();
  expect(onpick.mock.calls[0]![0]).not.toBe('T1');
});

it('shows suspicion as weight and hatch with its share, and an excluded part with its reading', () => {
  const modes = plug.parts.find((part) => part.id === 'start_winding')!.modes!;
  const verdict = verdictWith({
    suspects: [
      { part: 'lead_c', mode: 'open', component: 'harness', label: 'lead C open', share: 0.62, not_told_apart_from: [] },
      { part: 'run_winding', mode: 'open', component: 'compressor', label: 'run winding open', share: 0.2, not_told_apart_from: [] },
    ],
    excluded: modes.map((mode) => ({ part: 'start_winding', mode: mode.id, component: 'compressor', label: mode.label, share: 0, by: ['r3'] })),
  });
  const { container } = draw({ verdict });
  const weight = (id: string) => container.querySelector(`[data-part="${id}"]`)!;
  expect(weight('lead_c')).toHaveAttribute('data-weight', 'most');
  expect(weight('lead_c').querySelector('.hatch')).not.toBeNull();
  expect(weight('lead_c')).toHaveTextContent('62 of 100');
  expect(weight('run_winding')).toHaveAttribute('data-weight', 'much');
  expect(weight('start_winding')).toHaveAttribute('data-weight', 'excluded');
  expect(weight('start_winding').querySelector('.tag')).toHaveTextContent('r3');
  expect(weight('overload')).toHaveAttribute('data-weight', 'plain');
});

it('draws no suspicion for a blind reader', () => {
  const { container } = draw({ readonly: true });
  expect(container.querySelector('.hatch')).toBeNull();
  expect(container.querySelector('.tag')).toBeNull();
});

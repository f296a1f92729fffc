// The drawing promises: a symbol per part, honest reach, suspicion as weight and hatch.
import { render, screen } from '@testing-library/svelte';
import userEvent from '@testing-library/user-event';
import { describe, expect, it, vi } from 'vitest';
import { shipped, shippedNames, verdictWith } from '../test/shipped';
import CircuitDrawing from './CircuitDrawing.svelte';
import { layoutOf, TARGET_PX } from './geometry';
import { boxOf, labelsOf } from './labels';
import { drawnOf } from './geometry';
import { suspicionOf } from './suspicion';

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

  it('keeps the names of points inside the drawing on a phone', () => {
    const layout = layoutOf(circuit, 358);
    const drawn = circuit.parts.flatMap((part) => drawnOf(circuit, part, layout, false) ?? []);
    const labels = labelsOf(circuit, layout, drawn, (part) => suspicionOf(null, part), null);
    for (const [id, label] of labels.points) {
      const box = boxOf(label);
      expect(box.x, id).toBeGreaterThanOrEqual(0);
      expect(box.x + box.w, id).toBeLessThanOrEqual(layout.width);
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

// Which points a probe can touch, and what has to be lifted first.
// Belongs here: the rule of `needs_lifted`. Does not belong here: how it is drawn.
import type { Circuit, Connector, Part, Point } from '../lib/wire';

export type Reach = { can: true } | { can: false; hidden: true } | { can: false; hidden: false; lift: Connector[] };

export function reachOf(circuit: Circuit, point: Point, lifted: string[]): Reach {
  if (!point.place) return { can: false, hidden: true };
  const missing = (point.needs_lifted ?? []).filter((id) => !lifted.includes(id));
  if (missing.length === 0) return { can: true };
  return { can: false, hidden: false, lift: (circuit.connectors ?? []).filter((connector) => missing.includes(connector.id)) };
}

/** "Lift compressor plug to reach it." */
export function reachWords(reach: Reach): string {
  if (reach.can) return 'Within reach.';
  if (reach.hidden) return 'Inside; no probe reaches it.';
  return `Lift ${reach.lift.map((connector) => connector.label).join(' and ')} to reach it.`;
}

/** The connectors that take this part out of the circuit. */
export function connectorsOf(circuit: Circuit, part: Part): Connector[] {
  return (circuit.connectors ?? []).filter((connector) => connector.opens.includes(part.id));
}

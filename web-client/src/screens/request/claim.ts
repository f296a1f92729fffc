// Choosing a component, a part of it and a fault: for the claim and for the blind read.
// Belongs here: what can be chosen from a circuit. Does not belong here: who may choose.
import type { Circuit, Component, Mode, Part } from '../../lib/wire';

/** Components worth a request first: the costly ones. */
export function componentsOf(circuit: Circuit): Component[] {
  return [...circuit.components].sort((a, b) => Number(b.major ?? false) - Number(a.major ?? false));
}

/** Parts of a component that can fail for good. */
export function partsOf(circuit: Circuit, component: string): Part[] {
  return circuit.parts.filter((part) => part.component === component && modesOf(part).length > 0);
}

/** Faults that condemn; a passing state (hot, will reset) is none. */
export function modesOf(part: Part | undefined): Mode[] {
  return (part?.modes ?? []).filter((mode) => !mode.passing);
}

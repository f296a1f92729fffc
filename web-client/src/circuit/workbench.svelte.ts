// What is set up for the next reading: probes, lifted connectors, power, quantity.
// Belongs here: the state shared by the drawing, its list twin and the reading form. Does
// not belong here: the value typed (ReadingForm.svelte) or what is stored.
import { draftKeep, draftRead } from '../lib/drafts';
import type { Circuit, PlannedReading, Power, Quantity } from '../lib/wire';
import { quantitiesBy } from '../lib/words';
import { reachOf } from './reach';

interface SetUp {
  lifted: string[];
  power: Power;
  picked: string[];
  quantity: Quantity;
  state: string | null;
}

const EMPTY: SetUp = { lifted: [], power: 'off', picked: [], quantity: 'resistance', state: null };

export class Workbench {
  lifted = $state<string[]>([]);
  power = $state<Power>('off');
  /** Points touched: none, one, or both. */
  picked = $state<string[]>([]);
  quantity = $state<Quantity>('resistance');
  /** Under power: what the unit is doing, as the circuit names it; null for its first. */
  state = $state<string | null>(null);
  /** The test that is set up asks for a meter of low impedance. */
  loaded = $state(false);
  /** A reading or test whose points are being shown on the drawing. */
  shown = $state<{ from: string; to: string; label: string } | null>(null);
  /** The part whose card is open. */
  part = $state<string | null>(null);

  constructor(private readonly name: string) {
    Object.assign(this, draftRead<SetUp>(name, EMPTY));
  }

  /** Forgets what this circuit does not know: the unit's circuit may have been corrected. */
  fit(circuit: Circuit): void {
    const connectors = new Set((circuit.connectors ?? []).map((connector) => connector.id));
    if (this.lifted.some((id) => !connectors.has(id))) this.lifted = this.lifted.filter((id) => connectors.has(id));
    if (this.state && !(circuit.states ?? []).some((state) => state.id === this.state)) this.state = null;
    this.dropUnreachable(circuit);
  }

  /** First touch, second touch; touching a picked point lets go of it. */
  pick(point: string): void {
    this.shown = null;
    this.loaded = false;
    if (this.picked.includes(point)) this.picked = this.picked.filter((id) => id !== point);
    else if (this.picked.length < 2) this.picked = [...this.picked, point];
    else this.picked = [this.picked[0]!, point];
    this.keep();
  }

  clear(): void {
    this.picked = [];
    this.loaded = false;
    this.keep();
  }

  lift(circuit: Circuit, connector: string, up: boolean): void {
    this.lifted = up ? [...new Set([...this.lifted, connector])] : this.lifted.filter((id) => id !== connector);
    this.dropUnreachable(circuit);
    this.keep();
  }

  setPower(power: Power): void {
    this.power = power;
    if (!quantitiesBy[power].includes(this.quantity)) this.quantity = quantitiesBy[power][0]!;
    this.keep();
  }

  setState(state: string): void {
    this.state = state;
    this.keep();
  }

  setQuantity(quantity: Quantity): void {
    this.quantity = quantity;
    this.keep();
  }

  /** Sets everything up for a proposed reading. */
  setUp(planned: PlannedReading): void {
    this.shown = null;
    this.lifted = [...planned.lifted];
    this.power = !planned.state && quantitiesBy.off.includes(planned.quantity) ? 'off' : 'energised';
    this.quantity = planned.quantity;
    this.state = planned.state ?? null;
    this.picked = [planned.from, planned.to];
    this.loaded = planned.low_impedance === true;
    this.keep();
  }

  private dropUnreachable(circuit: Circuit): void {
    const ok = (id: string): boolean => {
      const point = circuit.points.find((candidate) => candidate.id === id);
      return !!point && reachOf(circuit, point, this.lifted).can;
    };
    if (!this.picked.every(ok)) this.picked = this.picked.filter(ok);
  }

  private keep(): void {
    draftKeep(this.name, { lifted: this.lifted, power: this.power, picked: this.picked, quantity: this.quantity, state: this.state });
  }
}

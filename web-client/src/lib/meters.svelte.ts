// The shop's meters as last heard, so that one can be chosen without signal, and which one this
// device last used.
// Belongs here: keeping them. Does not belong here: changing them (screens/meters).
import { draftKeep, draftRead } from './drafts';
import { metersList } from './lists';
import type { MeterHeld, Quantity, Uuid } from './wire';

const NAME = 'meters';

class Meters {
  private kept = $state(draftRead<{ all: MeterHeld[]; id: Uuid }>(NAME, { all: [], id: '' }));

  /** The one chosen last; empty for none of the shop's. */
  get id(): Uuid {
    return this.kept.id;
  }

  set id(id: Uuid) {
    this.kept.id = id;
    draftKeep(NAME, $state.snapshot(this.kept));
  }

  /** Asks for them anew; without an answer the old ones stay. */
  async refresh(): Promise<void> {
    try {
      const all = await metersList();
      this.kept.all = all.filter(({ retired_at }) => !retired_at);
      draftKeep(NAME, $state.snapshot(this.kept));
    } catch {
      return;
    }
  }

  /** Those that can measure it, this person's own first. */
  usable(quantity: Quantity, person: Uuid | undefined): MeterHeld[] {
    const mine = (meter: MeterHeld): number => Number(meter.keeper?.id === person);
    return this.kept.all.filter(({ ranges }) => ranges.some((range) => range.quantity === quantity)).sort((a, b) => mine(b) - mine(a));
  }
}

export const meters = new Meters();

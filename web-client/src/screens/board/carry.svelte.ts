// One job picked up to be put elsewhere: by pointer or by keys.
// Belongs here: what is carried, where it is held now, what is said of it. Does not belong here:
// drawing it, and giving the job to somebody once it is put down.
import { net } from '../../lib/net.svelte';
import { day, hour } from '../../lib/time';
import type { BoardJob, Uuid } from '../../lib/wire';
import { drawn, HOUR_MS, snap, snapUp, STEP_MS } from './hours';

/** A pointer that moved less than this is a tap, not a drag. */
const TAP_PX = 6;

export interface Slot {
  job: BoardJob;
  person: { id: Uuid; name: string };
  start_ms: number;
  end_ms: number;
}

interface Pressed {
  job: BoardJob;
  x: number;
  y: number;
  /** How far into the bar it was grasped. */
  grasp_ms: number;
  pointer: number;
  tap: () => void;
}

export class Carry {
  job = $state.raw<BoardJob | null>(null);
  person = $state.raw<{ id: Uuid; name: string } | null>(null);
  start_ms = $state(0);
  /** Read out by a screen reader. */
  says = $state('');
  by = $state<'keys' | 'pointer'>('keys');
  private pressed: Pressed | null = null;
  private origin: HTMLElement | null = null;
  private spaced = false;

  constructor(
    private readonly people: () => { id: Uuid; name: string }[],
    private readonly zone: () => string,
    private readonly put: (slot: Slot) => void,
  ) {}

  get length_ms(): number {
    const job = this.job;
    if (!job) return 0;
    return job.planned_start && job.planned_end ? Date.parse(job.planned_end) - Date.parse(job.planned_start) : Math.max(1, Math.round((job.expected_min * 60_000) / STEP_MS)) * STEP_MS;
  }

  get end_ms(): number {
    return this.start_ms + this.length_ms;
  }

  where(): string {
    const zone = this.zone();
    return `${this.person?.name ?? 'nobody'}, ${day(this.start_ms, zone)} ${hour(this.start_ms, zone)} to ${hour(this.end_ms, zone)}`;
  }

  // ------------------------------------------------------------------ keys

  /** Picks a job up where it lies, or for the first person, now. */
  lift(job: BoardJob, origin: HTMLElement, from_ms = 0): void {
    const people = this.people();
    this.by = 'keys';
    this.origin = origin;
    this.job = job;
    this.person = people.find((one) => one.id === job.assigned_to?.id) ?? people[0] ?? null;
    this.start_ms = snap(drawn(job)?.start ?? snapUp(Math.max(net.now_ms, from_ms)));
    this.says = `Picked up job ${job.number}. Left and right move it by 15 minutes, up and down to another person, Enter puts it down, Escape leaves it. Now ${this.where()}.`;
  }

  /** Whether the key was meant for what is carried. */
  key(event: KeyboardEvent): boolean {
    if (!this.job) return false;
    if (this.by === 'pointer') {
      if (event.key === 'Escape') this.cancel();
      return event.key === 'Escape';
    }
    const people = this.people();
    const at = people.findIndex((one) => one.id === this.person?.id);
    switch (event.key) {
      case 'ArrowLeft':
        this.start_ms -= event.shiftKey ? HOUR_MS : STEP_MS;
        break;
      case 'ArrowRight':
        this.start_ms += event.shiftKey ? HOUR_MS : STEP_MS;
        break;
      case 'ArrowUp':
        this.person = people[Math.max(0, at - 1)] ?? null;
        break;
      case 'ArrowDown':
        this.person = people[Math.min(people.length - 1, at + 1)] ?? null;
        break;
      case 'Enter':
      case ' ':
        this.spaced = event.key === ' ';
        this.drop();
        return true;
      case 'Escape':
        this.cancel();
        return true;
      case 'Tab':
        this.cancel();
        return false;
      default:
        return false;
    }
    this.says = `${this.where()}.`;
    return true;
  }

  /** The space that put it down must not pick it up again when it is let go. */
  keyup(event: KeyboardEvent): boolean {
    const swallowed = event.key === ' ' && this.spaced;
    if (swallowed) this.spaced = false;
    return swallowed;
  }

  // ------------------------------------------------------------------ pointer

  press(event: PointerEvent, job: BoardJob, tap: () => void): void {
    if (event.button !== 0) return;
    const bar = event.currentTarget as HTMLElement;
    const lane = bar.closest<HTMLElement>('[data-lane]');
    const when = drawn(job);
    const grasp_ms = lane && when ? Math.max(0, timeAt(lane, event.clientX) - when.start) : 0;
    this.origin = bar;
    this.pressed = { job, x: event.clientX, y: event.clientY, grasp_ms, pointer: event.pointerId, tap };
    // A finger's pointer is caught by what it touched first; the lanes must hear of it too.
    if (bar.hasPointerCapture?.(event.pointerId)) bar.releasePointerCapture(event.pointerId);
  }

  move(event: PointerEvent): void {
    const pressed = this.pressed;
    if (!pressed || event.pointerId !== pressed.pointer) return;
    if (!this.job) {
      if (Math.hypot(event.clientX - pressed.x, event.clientY - pressed.y) < TAP_PX) return;
      this.by = 'pointer';
      this.job = pressed.job;
    }
    event.preventDefault();
    const lane = document.elementFromPoint(event.clientX, event.clientY)?.closest<HTMLElement>('[data-lane]');
    const person = lane?.dataset.lane ? this.people().find((one) => one.id === lane.dataset.lane) : undefined;
    this.person = person ?? null;
    if (lane && person) this.start_ms = snap(timeAt(lane, event.clientX) - pressed.grasp_ms);
  }

  release(event: PointerEvent): void {
    const pressed = this.pressed;
    if (!pressed || event.pointerId !== pressed.pointer) return;
    this.pressed = null;
    if (this.job) this.drop();
    else pressed.tap();
  }

  cancel(): void {
    if (this.job) this.says = `Job ${this.job.number} stays where it was.`;
    this.pressed = null;
    this.job = null;
    this.origin?.focus();
  }

  private drop(): void {
    const { job, person } = this;
    if (!job || !person) return this.cancel();
    const slot = { job, person, start_ms: this.start_ms, end_ms: this.end_ms };
    this.says = `Putting job ${job.number} down: ${this.where()}.`;
    this.job = null;
    this.put(slot);
  }
}

/** The moment under a place of a lane, which says itself when it begins and how long it is. */
function timeAt(lane: HTMLElement, x: number): number {
  const box = lane.getBoundingClientRect();
  return Number(lane.dataset.start) + ((x - box.left) / box.width) * Number(lane.dataset.length);
}

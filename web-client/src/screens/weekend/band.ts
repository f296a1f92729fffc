// The band of load against supply, as shapes.
// Belongs here: from hours to paths and marks in one coordinate system. Does not belong here:
// drawing them (Band.svelte).
import { day, hour } from '../../lib/time';
import type { CapacityHour, CapacityOutlook, CapacityRule } from '../../lib/wire';

export const HOUR_PX = 20;
export const HEIGHT = 240;
const TOP = 34;
const HOUR_MS = 3_600_000;

export interface Crossing {
  from: number;
  to: number;
  sure: boolean;
}

export interface Mark {
  rule: CapacityRule;
  number: number;
  x: number;
  /** Marks side by side stand below each other. */
  row: number;
}

export interface Band {
  width: number;
  /** Whole people up the side. */
  ticks: { people: number; y: number }[];
  days: { x: number; word: string }[];
  clocks: { x: number; word: string }[];
  between: string;
  load: string;
  usual: string;
  supply: string;
  reserve: string;
  crossings: Crossing[];
  marks: Mark[];
}

/** Hours side by side in which the load reaches the supply, on average or in one run of ten. */
export function crossings(hours: CapacityHour[]): Crossing[] {
  const found: Crossing[] = [];
  hours.forEach((one, at) => {
    if (one.crosses === 'no') return;
    const sure = one.crosses === 'will';
    const last = found.at(-1);
    if (last && last.to === at && last.sure === sure) last.to = at + 1;
    else found.push({ from: at, to: at + 1, sure });
  });
  return found;
}

export function bandOf(outlook: CapacityOutlook, zone: string): Band {
  const hours = outlook.hours;
  const most = Math.max(2, ...hours.map((one) => Math.max(one.load_high, one.usual, one.supply + one.on_call_left)));
  const top = Math.ceil(most + 0.3);
  const y = (people: number): number => HEIGHT - (people / top) * (HEIGHT - TOP);
  const middle = (at: number): number => (at + 0.5) * HOUR_PX;
  const line = (value: (one: CapacityHour) => number): string => hours.map((one, at) => `${at ? 'L' : 'M'}${middle(at)} ${y(value(one)).toFixed(1)}`).join('');
  const steps = (value: (one: CapacityHour) => number): string =>
    hours.map((one, at) => `${at ? 'L' : 'M'}${at * HOUR_PX} ${y(value(one)).toFixed(1)}H${(at + 1) * HOUR_PX}`).join('');
  const there = hours.map((one, at) => `${at ? 'L' : 'M'}${middle(at)} ${y(one.load_high).toFixed(1)}`).join('');
  const back = hours.map((one, at) => ({ at, one })).reverse().map(({ at, one }) => `L${middle(at)} ${y(one.load_low).toFixed(1)}`).join('');
  const start = Date.parse(outlook.start);
  const marks: Mark[] = [];
  [...outlook.rules].sort((a, b) => Date.parse(a.at) - Date.parse(b.at)).forEach((rule, at) => {
    const x = ((Date.parse(rule.at) - start) / HOUR_MS) * HOUR_PX;
    const near = marks.filter((mark) => Math.abs(mark.x - x) < 26).map((mark) => mark.row);
    let row = 0;
    while (near.includes(row)) row += 1;
    marks.push({ rule, number: at + 1, x: Math.max(14, Math.min(x, hours.length * HOUR_PX - 14)), row });
  });
  const step = Math.max(1, Math.ceil(top / 5));
  return {
    width: Math.max(hours.length * HOUR_PX, 240),
    ticks: Array.from({ length: Math.floor(top / step) + 1 }, (_, at) => ({ people: at * step, y: y(at * step) })),
    days: hours.flatMap((one, at) => (at === 0 || hour(one.at, zone) === '00:00' ? [{ x: at * HOUR_PX, word: day(one.at, zone) }] : [])),
    clocks: hours.flatMap((one, at) => (Number(hour(one.at, zone).slice(0, 2)) % 4 === 0 ? [{ x: at * HOUR_PX, word: hour(one.at, zone).slice(0, 2) }] : [])),
    between: `${there}${back}Z`,
    load: line((one) => one.load),
    usual: line((one) => one.usual),
    supply: steps((one) => one.supply),
    reserve: steps((one) => one.supply + one.on_call_left),
    crossings: crossings(hours),
    marks,
  };
}

/** "2 h 30", "45 min", "2 days". */
export function waitWords(minutes: number): string {
  const whole = Math.round(minutes);
  if (whole >= 1440 && whole % 1440 === 0) return whole === 1440 ? '1 day' : `${whole / 1440} days`;
  if (whole < 60) return `${whole} min`;
  return whole % 60 ? `${Math.floor(whole / 60)} h ${whole % 60}` : `${whole / 60} h`;
}

/** "Fri 20:00 to 00:00". */
export function spanWords(from: string, to: string, zone: string): string {
  return `${day(from, zone).split(',')[0]?.split(' ')[0] ?? ''} ${hour(from, zone)} to ${hour(to, zone)}`;
}

// The waterfall's lengths.
import { expect, test } from 'vitest';
import { lengthsOf, letterOf, suspectsSeen } from './waterfall';

test('lengths lie end to end and fill the whole', () => {
  const lengths = lengthsOf([0.5, 0.3, 0.2]);
  expect(lengths.map(({ start }) => start)).toEqual([0, 0.5, 0.8]);
  expect(lengths.reduce((sum, { share }) => sum + share, 0)).toBeCloseTo(1);
});

test('shares that were rounded still fill the whole', () => {
  const lengths = lengthsOf([0.333, 0.333, 0.333]);
  const last = lengths.at(-1)!;
  expect(last.start + last.share).toBeCloseTo(1);
});

test('what is too short to see is left out, and what is too short for its letter has none', () => {
  const lengths = lengthsOf([0.9, 0.001, 0.05, 0.049]);
  expect(lengths.map(({ letter }) => letter)).toEqual(['A', 'C', 'D']);
  expect(lengths.map(({ lettered }) => lettered)).toEqual([true, false, false]);
});

test('nothing at all draws nothing', () => {
  expect(lengthsOf([])).toEqual([]);
  expect(lengthsOf([0, 0])).toEqual([]);
});

test('the legend names those who are seen at some step', () => {
  const suspect = (key: string) => ({ key, label: key });
  const step = (shares: number[]) => ({ label: '', says: '', shares });
  const seen = suspectsSeen({ suspects: [suspect('a'), suspect('b'), suspect('c')], steps: [step([0.999, 0.001, 0]), step([0.2, 0.001, 0.8])] });
  expect(seen.map(letterOf)).toEqual(['A', 'C']);
});

// The shop's table promises: every kind of fault has plain words, no two the same, and no false none.
import { expect, it } from 'vitest';
import type { FoundKind } from '../../lib/wire';
import { shipped, shippedNames } from '../../test/shipped';
import { callsWords, kindWords, timesWords, worthALine } from './found';

it('has words for every kind of fault that a shipped circuit can have, each its own', () => {
  const kinds = new Set<string>();
  for (const name of shippedNames)
    for (const part of shipped(name).parts)
      for (const mode of part.modes ?? []) if (!mode.passing) kinds.add(`${part.kind} ${mode.effect}`);
  const words = [...kinds].map((one) => one.split(' ')).map(([kind, effect]) => kindWords({ class: 'fault', kind, effect } as FoundKind));
  expect(words.filter((says) => says.includes('undefined'))).toEqual([]);
  expect(new Set(words).size).toBe(kinds.size);
  expect(kindWords({ class: 'nothing_wrong' })).toBe('Nothing wrong');
});

it('rounds without a false none, and calls a small move none', () => {
  expect([callsWords(0), callsWords(0.01), callsWords(2.25)]).toEqual(['0', 'under 0.1', '2.3']);
  expect([timesWords(1.02), timesWords(0.2), timesWords(2)]).toEqual(['as before', '0.20 times', '2.0 times']);
  expect([worthALine({ found: 0, expected: 0.4 }), worthALine({ found: 0.25, expected: 0 })]).toEqual([false, true]);
});

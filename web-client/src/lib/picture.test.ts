// A photo fits before it is sent, and arrives as the bytes it was.
import { expect, it } from 'vitest';
import { base64, fitted } from './picture';

it('is never more than 1600 px on its longer side, nor larger than it was', () => {
  expect(fitted(4000, 3000)).toEqual([1600, 1200]);
  expect(fitted(3000, 4000)).toEqual([1200, 1600]);
  expect(fitted(640, 480)).toEqual([640, 480]);
  expect(fitted(20_000, 3)).toEqual([1600, 1]);
});

it('comes back from base64 as it was, however long', () => {
  const bytes = Uint8Array.from({ length: 100_003 }, (_, at) => (at * 31) % 256);
  expect(Uint8Array.from(atob(base64(bytes)), (letter) => letter.charCodeAt(0))).toEqual(bytes);
});

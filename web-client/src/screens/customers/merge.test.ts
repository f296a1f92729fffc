// The promise of two changes at once: nothing typed is lost, nothing of the other is overwritten unseen.
import { expect, it } from 'vitest';
import { mergeInto } from './merge';

const before = { name: 'Fairlock', phone: '1', email: 'a@x' };

it('takes what the other changed where nothing was typed here', () => {
  const form = { ...before, phone: '2' };
  expect(mergeInto(form, before, { ...before, name: 'Fairlock-Hale' }, {})).toEqual([]);
  expect(form).toEqual({ name: 'Fairlock-Hale', phone: '2', email: 'a@x' });
});

it('keeps what was typed and says what the other made of the same field', () => {
  const form = { ...before, phone: '2' };
  expect(mergeInto(form, before, { ...before, phone: '3' }, { phone: 'Telephone' })).toEqual([{ field: 'Telephone', theirs: '3' }]);
  expect(form.phone).toBe('2');
});

it('is quiet when both meant the same', () => {
  const form = { ...before, phone: '2' };
  expect(mergeInto(form, before, { ...before, phone: '2' }, {})).toEqual([]);
});

// The rota in a browser: a swap by two taps and an answer, leave, a week filled, at both widths.
// Belongs here: what people do with it. Does not belong here: rest and cover as such.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { OFFICE, PHONE, clean, shopOpen, windowOf } from './shop.mjs';

let shop;
before(async () => {
  shop = await shopOpen();
});
after(async () => {
  await shop?.close();
});

const rota = async (page) => {
  await page.goto('/rota');
  await page.getByRole('heading', { name: 'Rota', level: 1 }).waitFor();
  await page.getByRole('button', { name: 'Week after' }).waitFor();
};

test('a technician sees their next duties first, and swaps by two taps', async () => {
  const { page, errors } = await windowOf(shop, 'jonas', PHONE);
  await rota(page);
  await page.getByRole('heading', { name: 'Your next duties' }).waitFor();
  await page.getByText('The coming weekend').waitFor();
  await clean(page, 'rota on a phone');
  // The first that is still ahead, then what is wanted for it.
  await page.getByRole('button', { name: /Swap or give away/ }).first().click();
  const sheet = page.getByRole('dialog', { name: 'Swap or give away' });
  await clean(page, 'swap sheet on a phone');
  await sheet.getByRole('button', { name: 'To whoever takes it' }).click();
  await page.getByText('Offered to whoever takes it.').waitFor();
  await page.getByRole('button', { name: /Withdraw this offer/ }).click();
  await page.getByText('Withdrawn.').waitFor();
  assert.deepEqual(errors, []);
});

test('whoever is asked accepts with one tap, and the rota changes on the other screen', async () => {
  const mette = await windowOf(shop, 'mette', PHONE);
  const priya = await windowOf(shop, 'priya', OFFICE);
  await rota(mette.page);
  await rota(priya.page);
  await priya.page.getByText(/Rui Castellan offers Mette Hollis/).waitFor();
  await mette.page.getByText('“My daughter plays that evening.”').waitFor();
  await mette.page.getByRole('button', { name: /Accept the offer of Rui/ }).click();
  await mette.page.getByText('Swapped; the rota is changed.').waitFor();
  await priya.page.getByText('Nothing waits for an answer.').waitFor();
  await priya.page.getByText('The last ones').click();
  await priya.page.getByText('swapped', { exact: true }).waitFor();
  assert.deepEqual([...mette.errors, ...priya.errors], []);
});

test('a scheduler grants leave, tries a pattern and puts a duty in, all by keyboard reach', async () => {
  const { page, errors } = await windowOf(shop, 'priya', OFFICE);
  await rota(page);
  await page.getByRole('table').first().waitFor();
  await clean(page, 'rota on a desk');
  await page.getByRole('button', { name: /Grant the leave of Jonas/ }).click();
  await page.getByText(/Granted; Jonas Kettleby is told by mail/).waitFor();

  await page.getByRole('button', { name: 'Fill weeks' }).press('Enter');
  const sheet = page.getByRole('dialog', { name: 'Fill weeks' });
  await sheet.getByLabel('Mette Hollis').check();
  await sheet.getByRole('button', { name: 'Try it' }).press('Enter');
  await sheet.getByText(/It would put in \d+ duties/).waitFor();
  await clean(page, 'fill weeks');
  await sheet.getByRole('button', { name: 'Close' }).click();

  // What meets another entry is refused and the other is named.
  await page.getByRole('button', { name: 'Put in a duty' }).click();
  const one = page.getByRole('dialog', { name: 'Put in a duty' });
  await one.getByRole('button', { name: 'Put it in' }).click();
  await one.getByText('Choose who it is for.').waitFor();
  await one.getByLabel('Who').selectOption({ label: 'Rui Castellan' });
  await one.getByRole('button', { name: 'Put it in' }).click();
  await one.getByText(/Rui Castellan is on (shift|call)|Rui Castellan is on the second rota/).first().waitFor();
  assert.deepEqual(errors, []);
});

for (const [name, viewport] of [['phone', PHONE], ['desk', OFFICE]]) {
  test(`the quarter and the shop's days are clean on a ${name}`, async () => {
    const { page, errors } = await windowOf(shop, 'ada', viewport);
    await page.goto('/rota/fairness');
    await page.getByRole('heading', { name: 'Rest in the coming week' }).waitFor();
    await page.getByRole('row', { name: /Mette Hollis/ }).waitFor();
    await clean(page, `fairness on a ${name}`);
    await page.goto('/rota/days');
    await page.getByLabel('Monday').waitFor();
    assert.equal(await page.getByLabel('Monday').inputValue(), '08:00-17:00');
    await clean(page, `days on a ${name}`);
    assert.deepEqual(errors, []);
  });
}

test('leave is asked for on a phone, and a change of hours is kept', async () => {
  const rui = await windowOf(shop, 'rui', PHONE, 'dark');
  await rota(rui.page);
  await clean(rui.page, 'rota in the dark');
  await rui.page.getByRole('button', { name: 'Ask for leave' }).click();
  const sheet = rui.page.getByRole('dialog', { name: 'Ask for leave' });
  await sheet.getByLabel('Last day away').fill('2020-01-01');
  await sheet.getByRole('button', { name: 'Ask for it' }).click();
  await sheet.getByText('Choose a last day that is not before the first.').waitFor();
  await sheet.getByLabel('Last day away').fill(await sheet.getByLabel('First day away').inputValue());
  await sheet.getByRole('button', { name: 'Ask for it' }).click();
  await rui.page.getByText('Asked for; a scheduler answers.').waitFor();

  const walter = await windowOf(shop, 'walter', OFFICE);
  await walter.page.goto('/rota/days');
  await walter.page.getByLabel('Saturday').fill('09:00-noon');
  await walter.page.getByRole('button', { name: 'Keep it' }).click();
  await walter.page.getByText('Write times like 08:00-17:00, or nothing for closed.').waitFor();
  await walter.page.getByLabel('Saturday').fill('09:00-12:00');
  await walter.page.getByRole('button', { name: 'Keep it' }).click();
  await walter.page.getByText('Kept.').waitFor();
  assert.deepEqual([...rui.errors, ...walter.errors], []);
});

// A shop that has just been founded, in a browser: what its owner sees before anything is there.
// Belongs here: the first steps. Does not belong here: the demo, where everything is there.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { OFFICE, PHONE, clean, ownShopOpen, windowOf } from './shop.mjs';

let shop;
before(async () => {
  shop = await ownShopOpen();
});
after(async () => {
  await shop?.close();
});

const signedIn = async (viewport) => {
  const opened = await windowOf(shop, null, viewport);
  const { page } = opened;
  await page.getByLabel('E-mail').fill(shop.owner.email);
  await page.getByLabel('Password').fill(shop.owner.password);
  await page.getByRole('button', { name: 'Sign in', exact: true }).click();
  await page.getByRole('heading', { name: 'Board', level: 1 }).waitFor();
  return opened;
};

test('every page of an empty shop says what would be there', async () => {
  const { page, errors } = await signedIn(OFFICE);
  for (const [path, words] of [
    ['/weekend', 'Nobody is put down for this time'],
    ['/plan', 'No proposal yet'],
    ['/rota', 'Fill weeks'],
    ['/requests', 'Nothing waits on you'],
    ['/customers', 'No customer yet'],
    ['/meters', 'No meter yet'],
    ['/mail', 'No mail yet'],
    ['/circuits', 'None yet'],
    ['/rules', 'It has not fired yet'],
  ]) {
    await page.goto(path);
    await page.getByText(words).first().waitFor();
    await clean(page, path);
  }
  assert.deepEqual(errors, []);
});

test('the owner is told what is still missing, and sees it done', async () => {
  const { page, errors } = await signedIn(PHONE);
  const begin = page.getByRole('region', { name: 'To begin with' });
  await begin.getByRole('link', { name: 'Add the technicians' }).waitFor();
  assert.equal(await begin.getByText(': done').count(), 0);
  await clean(page, 'the first board');
  await begin.getByRole('link', { name: 'Add the technicians' }).click();
  await page.getByRole('button', { name: 'Add a person' }).click();
  const sheet = page.getByRole('dialog');
  await sheet.getByLabel('Name').fill('Bram Holt');
  await sheet.getByLabel('E-mail').fill('bram@osier.example');
  await sheet.getByLabel(/password/i).fill('another long one');
  await sheet.getByLabel('Technician').check();
  await clean(page, 'adding a person');
  await sheet.getByRole('button', { name: /^Add/ }).click();
  await page.getByText('bram@osier.example').waitFor();
  await page.goto('/');
  await page.getByText('Add the technicians: done').waitFor();
  assert.deepEqual(errors, []);
});

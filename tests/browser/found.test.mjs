// What a job turned out to be: said on a phone once the job is done, seen in the shop's table.
// Belongs here: the word, its correction, the table beside it. Does not belong here: what it does to
// a verdict (tests/http/found.rs).
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { OFFICE, PHONE, clean, jobOpen, shopOpen, turnTo, windowOf } from './shop.mjs';

let shop;
before(async () => {
  shop = await shopOpen();
});
after(async () => {
  await shop?.close();
});

test('a technician says what a done job turned out to be, says otherwise, and the owner sees it counted', async () => {
  const mette = await windowOf(shop, 'mette', PHONE);
  await jobOpen(mette.page, 'Rattles since the storm.');
  await turnTo(mette.page, 'Verdict');
  const word = mette.page.getByRole('region', { name: 'What it turned out to be' });
  await word.getByText('Nobody has said yet.').waitFor();
  await word.getByRole('button', { name: 'Say what it was' }).click();
  const sheet = mette.page.getByRole('dialog', { name: 'What it turned out to be' });
  await sheet.getByRole('button', { name: 'Keep this word' }).click();
  await sheet.getByText('Choose what it was.').waitFor();
  await sheet.getByText('Something else, which is not in this list').click();
  await sheet.getByLabel('What it was, in a few words').fill('A branch in the guard');
  await sheet.getByText('Put right, and it ran: the complaint is gone').click();
  await clean(mette.page, 'saying what it turned out to be, phone');
  await sheet.getByRole('button', { name: 'Keep this word' }).click();
  await sheet.waitFor({ state: 'detached' });
  await word.getByText('A branch in the guard').waitFor();

  // On the way back the signal is gone; the better word waits, and is sent.
  await mette.context.setOffline(true);
  await mette.page.getByText('Offline.').waitFor();
  await word.getByRole('button', { name: 'Say otherwise' }).click();
  await sheet.getByText('Nothing was wrong with it').click();
  await sheet.getByText('It ran in a test and did nothing wrong').click();
  await sheet.getByRole('button', { name: 'Keep this word' }).click();
  await word.getByText('Your word is kept here, not sent yet.').waitFor();
  await clean(mette.page, 'a word that waits, phone');
  await mette.context.setOffline(false);
  await word.getByText('nothing was wrong').waitFor();
  await word.getByText('Said before').click();
  await word.getByText('A branch in the guard').waitFor();

  const ada = await windowOf(shop, 'ada', OFFICE);
  await ada.page.goto('/shop');
  const table = ada.page.getByRole('group', { name: 'Found beside expected' });
  const row = (name) => table.getByRole('row').filter({ hasText: name });
  await row('Nothing wrong').waitFor();
  assert.match(await row('Nothing wrong').innerText(), /Nothing wrong\s+1\s/);
  assert.match(await row('Capacitor: weak').innerText(), /\s1\s/);
  await ada.page.getByText('What the calls were, plainly').click();
  await ada.page.getByRole('group', { name: 'What the calls were' }).getByText('nothing was wrong').waitFor();
  assert.equal(await ada.page.getByText('A branch in the guard').count(), 0, 'the latest word counts');
  await clean(ada.page, 'what was found beside expected, office');
  // The same on a phone, where the table scrolls in its own frame.
  await mette.page.goto('/shop');
  await mette.page.getByRole('group', { name: 'Found beside expected' }).waitFor();
  await clean(mette.page, 'what was found beside expected, phone');
  assert.deepEqual([...mette.errors, ...ada.errors], []);
  for (const { context } of [mette, ada]) await context.close();
});

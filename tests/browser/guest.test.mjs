// A guest reader, from a link in the mail to a countersignature, and the search for a reader.
// Belongs here: what the guest, the requester and the manager see of each other. Does not
// belong here: the main story (story.test.mjs).
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { OFFICE, PHONE, clean, shopOpen, windowOf } from './shop.mjs';

/** The customer of job 9: none of it is a guest's to see. */
const CUSTOMER = ['Harrow', 'Library', 'Caretaker'];

let shop;
before(async () => {
  shop = await shopOpen();
});
after(async () => {
  await shop?.close();
});

/** The text of the newest mail to somebody with this subject. */
async function mailTo(page, address, subject) {
  const row = page.getByRole('listitem').filter({ hasText: address }).filter({ hasText: subject }).first();
  await row.waitFor();
  return row.locator('.text').evaluate((text) => text.textContent);
}

async function request9(page) {
  await page.goto('/requests');
  await page.getByText('Open', { exact: true }).click();
  await page.getByRole('link', { name: /Job 9/ }).click();
  await page.getByRole('heading', { name: /reading room heat pump/ }).waitFor();
}

test('the search for a reader shows who is asked, when the next are, and why', async () => {
  const jonas = await windowOf(shop, 'jonas', PHONE);
  await request9(jonas.page);
  await jonas.page.getByRole('heading', { name: 'Finding a second reader' }).waitFor();
  await jonas.page.getByRole('list', { name: 'Who is asked when' }).getByText(/The best placed reader is asked/).waitFor();
  await jonas.page.getByRole('button', { name: 'Who could read it' }).click();
  const sheet = jonas.page.getByRole('dialog', { name: 'Who could read it' });
  await sheet.getByText(/qualified for this part/).first().waitFor();
  await clean(jonas.page, 'who could read it, phone');
  // Whoever has not been asked is asked now.
  for (const button of await sheet.getByRole('button', { name: /^Ask / }).all()) await button.click();
  await sheet.getByText('… asked').nth(1).waitFor();
  await sheet.getByRole('button', { name: 'Close' }).click();

  const mette = await windowOf(shop, 'mette', PHONE);
  await request9(mette.page);
  await mette.page.getByRole('heading', { name: 'You are asked to read this' }).waitFor();
  await mette.page.getByRole('button', { name: 'Decline with a reason' }).click();
  const decline = mette.page.getByRole('dialog', { name: 'Decline this second read' });
  await decline.getByRole('button', { name: 'Decline it' }).click();
  await decline.getByText(/Say why/).first().waitFor();
  await decline.getByRole('button', { name: 'Not near a screen' }).click();
  await decline.getByRole('button', { name: 'Decline it' }).click();
  await decline.waitFor({ state: 'detached' });
  await jonas.page.getByText('declined: Not near a screen').waitFor();
  assert.deepEqual([...jonas.errors, ...mette.errors], []);
});

test('a guest comes by the link, reads blind, talks and countersigns', async () => {
  const ada = await windowOf(shop, 'ada', OFFICE);
  await ada.page.goto('/mail');
  const invitation = await mailTo(ada.page, 'sten.aldous@northgate.example', 'asks you for a second read');
  const link = /http\S+\/guest#\S+/.exec(invitation)[0];

  const sten = await windowOf(shop, null, PHONE);
  await sten.page.goto(link);
  await sten.page.getByRole('heading', { name: /Jonas Kettleby of Marrow Creek/ }).waitFor();
  await clean(sten.page, 'the guest’s way in, phone');
  await sten.page.getByLabel('Name').fill('Sten Aldous');
  await sten.page.getByLabel('Licence number').fill('NG-5093');
  await sten.page.getByLabel('E-mail').fill('jonas@marrowcreek.example');
  await sten.page.getByRole('button', { name: 'Send me the code' }).click();
  await sten.page.getByText(/somebody who works in this shop/).waitFor();
  await sten.page.getByLabel('E-mail').fill('sten.aldous@northgate.example');
  await sten.page.getByRole('button', { name: 'Send me the code' }).click();
  await sten.page.getByRole('heading', { name: 'The code' }).waitFor();
  const letter = await mailTo(ada.page, 'sten.aldous@northgate.example', 'is your code');
  await sten.page.getByLabel('Six digits').fill(/\b\d{6}\b/.exec(letter)[0]);
  await sten.page.getByRole('button', { name: 'Open the case' }).click();

  // Blind: the readings, no claim, no customer.
  await sten.page.getByRole('button', { name: 'Take this second read' }).click();
  await sten.page.getByRole('heading', { name: 'Your judgement' }).waitFor();
  const blind = await sten.page.locator('body').innerText();
  for (const leak of ['Run is open at the bare pins', 'Isolated', ...CUSTOMER]) assert.ok(!blind.includes(leak), `the blind page says "${leak}"`);
  await clean(sten.page, 'the guest reads blind, phone');
  await sten.page.getByLabel('compressor', { exact: true }).check();
  await sten.page.getByLabel('Part of it').selectOption('run_winding');
  await sten.page.getByLabel('How it failed').selectOption('open');
  await sten.page.getByLabel('Why').fill('R is open to both at the pins.');
  await sten.page.getByRole('button', { name: 'Commit my judgement and show the claim' }).click();
  await sten.page.getByRole('heading', { name: 'Side by side' }).waitFor();

  // They talk in the one thread, over the live stream, both ways.
  const jonas = await windowOf(shop, 'jonas', OFFICE);
  await jonas.page.goto('/');
  await jonas.page.getByRole('link', { name: 'No heat in the reading room.' }).click();
  await sten.page.getByLabel('Message').fill('Did you press hard on the pins?');
  await sten.page.getByRole('button', { name: 'Send', exact: true }).click();
  await jonas.page.getByText('Did you press hard on the pins?').waitFor();
  await jonas.page.getByText('Sten Aldous (guest)').first().waitFor();
  await jonas.page.getByLabel('Message').fill('Yes, twice. The Harrow Street caretaker watched.');
  await jonas.page.getByRole('button', { name: 'Send', exact: true }).click();
  await sten.page.getByText('Yes, twice. The [customer]').waitFor();
  await clean(sten.page, 'the guest after the read, phone');

  await sten.page.getByRole('button', { name: 'Countersign', exact: true }).click();
  await sten.page.getByRole('button', { name: 'Countersign this evidence' }).click();
  await sten.page.getByRole('heading', { name: 'You countersigned' }).waitFor();
  const seen = await sten.page.locator('body').innerText();
  for (const detail of CUSTOMER) assert.ok(!seen.includes(detail), `the guest's page says "${detail}"`);

  // The shop sees who signed, as they stated it, and ends the link: the guest's page closes.
  await request9(ada.page);
  await ada.page.getByRole('heading', { name: 'Countersigned by a guest' }).waitFor();
  await ada.page.getByText(/licence NG-5093 as they state it/).waitFor();
  await ada.page.getByRole('button', { name: 'Guest readers' }).click();
  await ada.page.getByRole('dialog', { name: 'Guest readers' }).getByRole('button', { name: 'End this link' }).click();
  await sten.page.getByRole('heading', { name: 'This link does not open any more' }).waitFor();
  await ada.page.getByRole('dialog', { name: 'Guest readers' }).getByText(/^Ended/).waitFor();
  await clean(ada.page, 'links, office');
  assert.deepEqual([...ada.errors, ...sten.errors, ...jonas.errors], []);
});

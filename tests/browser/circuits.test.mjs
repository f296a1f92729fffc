// The shop's own circuits, its meters and its thresholds.
// Belongs here: what a manager writes and a technician chooses. Does not belong here: the gate's
// own story (story.test.mjs).
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

test('a manager writes the next version of a circuit: problems by line, the drawing beside it, then a version', async () => {
  const ada = await windowOf(shop, 'ada', OFFICE);
  const { page } = ada;
  await page.goto('/circuits');
  await page.getByRole('link', { name: /Walk-in cooler/ }).click();
  await page.getByRole('heading', { name: 'Versions' }).waitFor();
  await clean(page, 'a circuit, wide');
  await page.getByRole('link', { name: 'Write the next version' }).click();
  const file = page.getByLabel('The circuit file');
  await page.getByText(/It holds: \d+ parts/).waitFor();
  const text = await file.inputValue();

  await file.fill(text.replace('between = ["T1", "HC"]', 'between = ["T1", "HX"]'));
  const line = page.getByRole('button', { name: /^Line \d+$/ }).first();
  await line.waitFor();
  await line.click();
  const at = await file.evaluate((area) => area.value.slice(area.selectionStart, area.selectionEnd));
  assert.match(at, /HX|name|id/, 'the line is where the button leads');
  assert.ok(await page.getByRole('button', { name: 'Add it as version 2' }).isDisabled());
  await clean(page, 'a circuit that does not hold, wide');

  await file.fill(text.replace('title = "Walk-in cooler: ', 'title = "Walk-in cooler, east: '));
  await page.getByText(/It holds: \d+ parts/).waitFor();
  await page.getByLabel('What is different from version 1').fill('Says which of the two coolers.');
  await page.getByRole('button', { name: 'Add it as version 2' }).click();
  await page.getByText('Says which of the two coolers.').waitFor();
  await page.getByRole('heading', { name: /Walk-in cooler, east/, level: 1 }).waitFor();
  assert.deepEqual(ada.errors, []);
});

test('a draft of a circuit outlives a reload on a phone', async () => {
  const { page } = await windowOf(shop, 'rui', PHONE);
  await page.goto('/circuits/write?from=control-24v');
  const file = page.getByLabel('The circuit file');
  await page.getByText(/It holds: \d+ parts/).waitFor();
  await file.fill(`# ours\n${await file.inputValue()}`);
  await page.reload();
  await page.getByText(/It holds: \d+ parts/).waitFor();
  assert.ok((await file.inputValue()).startsWith('# ours'));
  await page.getByText('A service manager or the owner adds a circuit').waitFor();
  await clean(page, 'writing a circuit, phone');
});

test('a technician measures with a meter of the shop, and the reading says what it is worth', async () => {
  const jonas = await windowOf(shop, 'jonas', OFFICE);
  const { page } = jonas;
  await page.goto('/meters');
  await page.getByText('Calibration ran out').waitFor();
  await clean(page, 'meters, wide');
  await page.setViewportSize(PHONE);
  await clean(page, 'meters, phone');
  await page.getByRole('button', { name: 'Change Van 3, clamp meter' }).click();
  await clean(page, 'a meter, phone');
  const step = page.getByLabel('Smallest step, Ω').first();
  await step.fill('');
  await page.getByRole('button', { name: 'Keep the changes' }).click();
  await page.getByText('Type a number, for example 0.1.').waitFor();
  await step.fill('0.1');
  await page.getByRole('button', { name: 'Keep the changes' }).click();
  await page.getByRole('dialog').waitFor({ state: 'detached' });
  assert.deepEqual(jonas.errors, []);
});

test('loosening a threshold asks why, and the change is listed', async () => {
  const { page } = await windowOf(shop, 'ada', OFFICE);
  await page.goto('/shop');
  await page.getByLabel('Share that isolates a part').fill('90');
  await page.getByRole('button', { name: 'Keep the settings' }).click();
  await page.getByText(/This loosens the share that isolates a part/).first().waitFor();
  await page.getByLabel('Why, where you loosen something').fill('Our meters are calibrated twice a year.');
  await page.getByRole('button', { name: 'Keep the settings' }).click();
  await page.getByText('Share that isolates a part: 95 to 90 in 100').waitFor();
  await clean(page, 'shop settings, wide');
  await page.setViewportSize(PHONE);
  await clean(page, 'shop settings, phone');
});

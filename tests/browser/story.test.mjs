// The whole story, three people in three windows.
// Belongs here: what a technician, a reader and a manager do and see. Does not belong here:
// looks (screens.test.mjs).
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { OFFICE, PHONE, jobOpen, readingTake, shopOpen, turnTo, windowOf } from './shop.mjs';

let shop;
before(async () => {
  shop = await shopOpen();
});
after(async () => {
  await shop?.close();
});

test('a held request becomes ready at the pins, is read blind, countersigned and approved', async () => {
  const complaint = 'No heat since last night, outdoor unit silent.';
  const rui = await windowOf(shop, 'rui', PHONE);
  const mette = await windowOf(shop, 'mette', PHONE);
  const ada = await windowOf(shop, 'ada', OFFICE);

  // The technician is held, and is told to read at the pins with the plug off.
  await jobOpen(rui.page, complaint);
  await turnTo(rui.page, 'Verdict');
  await rui.page.getByText(/Not isolated: \d+ faults still explain these readings/).waitFor();
  await rui.page.getByRole('heading', { name: /terminal box, compressor plug off/ }).first().waitFor();

  // A second reader of the held request sees no claim anywhere on the page.
  await mette.page.goto('/requests');
  await mette.page.getByText('Open', { exact: true }).click();
  await mette.page.getByText('What is claimed is kept from you').first().waitFor();

  // Three readings at the pins: two touches each.
  await turnTo(rui.page, 'Circuit');
  await rui.page.getByRole('button', { name: /compressor plug: on/ }).click();
  await readingTake(rui.page, 'C', 'S', 1.3);
  await readingTake(rui.page, 'C', 'R', 'OL');
  await readingTake(rui.page, 'S', 'R', 'OL');
  await turnTo(rui.page, 'Verdict');
  await rui.page.getByText('Isolated: only the compressor still explains the readings').waitFor();

  // The board in the office moved by itself.
  await ada.page.getByRole('listitem').filter({ hasText: complaint }).getByText('ready for a second read').waitFor();

  // The reader takes it; nothing on the page gives the claim away.
  await mette.page.getByRole('link', { name: /Job 10/ }).click();
  await mette.page.getByRole('button', { name: 'Take this second read' }).click();
  await mette.page.getByRole('heading', { name: 'Your judgement' }).waitFor();
  const blind = await mette.page.locator('body').innerText();
  for (const leak of ['Open between the compressor leads', '3,120', 'Isolated', 'condemned']) {
    assert.ok(!blind.includes(leak), `the blind page says "${leak}"`);
  }
  const request = mette.page.url().split('/').pop();
  await mette.page.getByLabel('compressor', { exact: true }).check();
  await mette.page.getByLabel('Part of it').selectOption('run_winding');
  await mette.page.getByLabel('How it failed').selectOption('open');
  await mette.page.getByLabel('Why').fill('Run is open to both at the bare pins, start is good.');
  await mette.page.getByRole('button', { name: 'Commit my judgement and show the claim' }).click();
  await mette.page.getByRole('heading', { name: 'Side by side' }).waitFor();
  await mette.page.getByText('Open between the compressor leads').first().waitFor();
  await mette.page.getByRole('button', { name: 'Countersign', exact: true }).click();
  await mette.page.getByRole('button', { name: 'Countersign this evidence' }).click();
  await mette.page.getByRole('heading', { name: 'Countersigned' }).waitFor();

  // The manager answers for the money on one page.
  await ada.page.goto(`/requests/${request}`);
  await ada.page.getByRole('button', { name: 'Approve the cost' }).click();
  await ada.page.getByRole('button', { name: 'Approve', exact: true }).click();
  await ada.page.getByText('Approved', { exact: false }).first().waitFor();

  // And the technician's phone knows.
  await rui.page.getByRole('link', { name: /Condemn request\s+approved/i }).waitFor();
  assert.deepEqual([...rui.errors, ...mette.errors, ...ada.errors], []);
});

test('changed evidence voids a countersignature where everyone can see it', async () => {
  const complaint = 'Trips the breaker the moment it starts.';
  const mette = await windowOf(shop, 'mette', PHONE);
  const ada = await windowOf(shop, 'ada', OFFICE);
  await ada.page.goto('/requests');
  await ada.page.getByRole('link', { name: /Job 8/ }).click();
  await ada.page.getByRole('button', { name: 'Approve the cost' }).waitFor();
  await jobOpen(mette.page, complaint);
  await mette.page.getByRole('button', { name: /compressor plug: on/ }).click();
  await readingTake(mette.page, 'C', 'R', 0.39);
  await ada.page.getByText(/signature is void/i).first().waitFor();
  assert.equal(await ada.page.getByRole('button', { name: 'Approve the cost' }).count(), 0);
});

test('what is said and measured without signal is kept, sent later, and shown once', async () => {
  const complaint = 'Outdoor fan starts only with a push.';
  const mette = await windowOf(shop, 'mette', PHONE);
  const rui = await windowOf(shop, 'rui', OFFICE);
  await jobOpen(rui.page, complaint);
  await jobOpen(mette.page, complaint);
  await mette.context.setOffline(true);
  await mette.page.getByText('Offline.').waitFor();
  await mette.page.getByRole('button', { name: /start wire: on/ }).click();
  await readingTake(mette.page, 'WC', 'WR', 36.1);
  await turnTo(mette.page, 'Talk');
  await mette.page.getByLabel('Message').fill('Behind the chimney, no signal. Run reads 36.');
  await mette.page.getByRole('button', { name: 'Send', exact: true }).click();
  await mette.page.getByRole('log').getByText('Kept here, not sent yet.').waitFor();
  await mette.page.getByText(/2 things are kept here/).waitFor();
  await mette.context.setOffline(false);
  await rui.page.getByText('Behind the chimney, no signal. Run reads 36.').waitFor();
  await rui.page.getByText('36.1').first().waitFor();
  await mette.page.getByText(/kept here and not sent yet/).waitFor({ state: 'detached' });
  for (const page of [rui.page, mette.page]) {
    assert.equal(await page.getByText('Behind the chimney, no signal. Run reads 36.').count(), 1);
  }
});

test('two jobs for one person at one time are refused in words, with the next free time', async () => {
  const priya = await windowOf(shop, 'priya', OFFICE);
  const row = priya.page.getByRole('listitem').filter({ hasText: 'Walk-in at 11 °C and climbing.' });
  await row.getByRole('button', { name: /Give to/ }).click();
  const sheet = priya.page.getByRole('dialog', { name: /Give job/ });
  // Exactly now, when she has another job.
  const now = await sheet.getByLabel('Not before').inputValue();
  await sheet.getByLabel('Not before').fill(now);
  await sheet.getByRole('button', { name: /Mette Hollis/ }).click();
  await sheet.getByText(/Mette Hollis is planned for job \d+ .* The next free time/).waitFor();
  await sheet.getByRole('button', { name: /Give it to Mette Hollis for/ }).click();
  // Her next free time may be when she is at home: then it wants a reason.
  const why = sheet.getByLabel('Why it is right nevertheless');
  await row.getByText('Mette Hollis').or(why).first().waitFor();
  if (await why.isVisible()) {
    await why.fill('She offered to.');
    await sheet.getByRole('button', { name: /nevertheless$/ }).click();
  }
  await sheet.waitFor({ state: 'detached' });
  await row.getByText('Mette Hollis').waitFor();
});

test('a reading can be taken with the keyboard alone, from the list', async () => {
  const rui = await windowOf(shop, 'rui', OFFICE);
  await jobOpen(rui.page, 'Upstairs never gets warm.');
  const press = async (name) => {
    await rui.page.getByRole('button', { name }).focus();
    await rui.page.keyboard.press('Enter');
  };
  await rui.page.locator('summary', { hasText: 'The circuit as a list' }).focus();
  await rui.page.keyboard.press('Enter');
  await press(/Put probe here ?: contactor load side T1/);
  await press(/Put probe here ?: contactor load side T2/);
  await rui.page.getByLabel('Value').focus();
  await rui.page.keyboard.type('0.62');
  await rui.page.keyboard.press('Enter');
  await rui.page.getByText('0.62 Ω').first().waitFor();
});

test('a wrong password says what to do, and a wrong reading says where', async () => {
  const out = await windowOf(shop, null, PHONE);
  await out.page.getByLabel('E-mail').fill('rui@marrowcreek.example');
  await out.page.getByLabel('Password').fill('not the password');
  await out.page.getByRole('button', { name: 'Sign in', exact: true }).click();
  await out.page.getByText(/do not match|is not right|wrong/i).first().waitFor();
  const rui = await windowOf(shop, 'rui', PHONE);
  await jobOpen(rui.page, 'Upstairs never gets warm.');
  await rui.page.locator('[data-point="T1"]').click();
  await rui.page.locator('[data-point="T2"]').click();
  await rui.page.getByRole('button', { name: 'Enter the reading' }).click();
  await rui.page.getByLabel('Value').fill('-4');
  await rui.page.getByRole('button', { name: 'Add the reading' }).click();
  await rui.page.getByText(/no reading|negative|0 to/i).first().waitFor();
});

test("a unit's own values are entered once and every later verdict uses them", async () => {
  const priya = await windowOf(shop, 'priya', OFFICE);
  await priya.page.goto('/customers');
  await priya.page.getByRole('link', { name: /Wilhelmina Fairlock/ }).click();
  await priya.page.getByRole('link', { name: 'heat pump' }).click();
  const run = priya.page.getByRole('group', { name: 'run winding' });
  await run.getByLabel('Value, Ω').fill('-1');
  await priya.page.getByRole('button', { name: 'Keep the changes' }).click();
  await priya.page.getByText(/must be above 0/).first().waitFor();
  await run.getByLabel('Value, Ω').fill('0.52');
  await run.getByLabel('Where it was read').fill('service sheet in the panel');
  await priya.page.getByRole('button', { name: 'Keep the changes' }).click();
  await priya.page.getByText(/^Kept\./).waitFor();
  await priya.page.reload();
  await priya.page.getByRole('heading', { name: "The unit's own values" }).waitFor();
  await priya.page.waitForFunction(() => [...document.querySelectorAll('input')].some((input) => input.value === '0.52'));
});

// When nobody answers: the countdown, the shop's own ladders, quiet hours; a job that waits and
// a customer who says that it got worse.
// Belongs here: what people see of these. Does not belong here: who is asked for a second read
// (guest.test.mjs).
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { OFFICE, PHONE, clean, jobOpen, shopOpen, windowOf } from './shop.mjs';

const AGNES = 'No heat, 84 years old and alone.';
const GUEST_ROOM = 'The guest room stays at 60 °F.';
const DRIP_PAN = 'The drip pan is full, the unit is off.';
/** Not a comfort call: those the shop's own rule may put off while the test looks. */
const LUKEWARM = 'Heats, but never up to the mark.';

let shop;
before(async () => {
  shop = await shopOpen();
});
after(async () => {
  await shop?.close();
});

test('an urgent job that nobody has counts down, and taking it stops that', async () => {
  const priya = await windowOf(shop, 'priya', OFFICE);
  await jobOpen(priya.page, AGNES);
  await priya.page.getByRole('heading', { name: 'Nobody has this job' }).waitFor();
  const steps = priya.page.getByRole('list', { name: 'Who is asked when' });
  await steps.getByText(/Asked: /).first().waitFor();
  await clean(priya.page, 'a ladder on a job, office');

  // Whoever was asked takes it.
  const asked = await steps.getByText(/Asked: /).first().textContent();
  const who = ['Jonas', 'Mette', 'Rui'].find((name) => asked.includes(name)).toLowerCase();
  const taker = await windowOf(shop, who, PHONE);
  await jobOpen(taker.page, AGNES);
  await taker.page.getByRole('heading', { name: 'You are asked to take this job' }).waitFor();
  await clean(taker.page, 'asked to take a job, phone');
  await taker.page.getByRole('button', { name: 'Take this job' }).click();
  await taker.page.getByText('How somebody was found').waitFor();
  await priya.page.getByText('How somebody was found').waitFor();
  assert.deepEqual([...priya.errors, ...taker.errors], []);
});

test('a job is deferred with questions answered, and what to read out is shown', async () => {
  const priya = await windowOf(shop, 'priya', PHONE);
  await jobOpen(priya.page, LUKEWARM);
  await priya.page.getByRole('button', { name: 'Defer to a working day' }).click();
  const sheet = priya.page.getByRole('dialog', { name: /Defer job/ });
  await sheet.getByLabel('A portable heater or cooler is left with you').check();
  await sheet.getByText(/3 ft from anything/).waitFor();
  await sheet.getByRole('button', { name: 'Defer it and tell the customer' }).click();
  await sheet.getByText(/Not answered with yes/).first().waitFor();
  await clean(priya.page, 'deferring, phone');
  for (const box of await sheet.getByRole('group', { name: 'Yes to all of these' }).getByRole('checkbox').all()) await box.check();
  await sheet.getByRole('button', { name: 'Defer it and tell the customer' }).click();
  const done = priya.page.getByRole('dialog', { name: 'Deferred' });
  await done.getByText(/If it gets worse before, call 555 0100/).waitFor();
  await done.getByRole('button', { name: 'Done' }).click();
  await priya.page.getByRole('heading', { name: /Deferred until/ }).waitFor();
  assert.deepEqual(priya.errors, []);
});

test('a customer says on a phone that it got worse, and the shop sees it at once', async () => {
  const ada = await windowOf(shop, 'ada', OFFICE);
  await ada.page.goto('/mail');
  const row = ada.page.getByRole('listitem').filter({ hasText: 'clement@ashby.example' }).first();
  await row.waitFor();
  const text = await row.locator('.text').evaluate((node) => node.textContent);
  const link = /https?:\/\/\S+(\/worse#\S+)/.exec(text)[1];
  await jobOpen(ada.page, GUEST_ROOM);
  await ada.page.getByRole('heading', { name: /Deferred until/ }).waitFor();

  const customer = await windowOf(shop, null, PHONE);
  await customer.page.goto(link);
  await customer.page.getByRole('heading', { name: 'Did it get worse?' }).waitFor();
  await clean(customer.page, 'the customer, phone');
  const page = await customer.page.locator('main').textContent();
  for (const secret of ['Ashby', 'Orchard', 'guest room']) assert.ok(!page.includes(secret), secret);
  const tell = customer.page.getByRole('button', { name: 'It got worse: tell the shop' });
  assert.ok(await tell.isDisabled(), 'five questions first');
  const answer = async (asks, word) => customer.page.getByRole('group', { name: asks }).getByLabel(word, { exact: true }).check();
  await answer(/smell gas/, 'Yes');
  await customer.page.getByText(/Leave the building now/).waitFor();
  await answer(/smell gas/, 'Not sure');
  await customer.page.getByText(/Leave the building now/).waitFor();
  await answer(/smell gas/, 'No');
  await answer(/no heat, or no cooling/, 'Yes');
  await answer(/cannot be without it/, 'Not sure');
  await answer(/water coming out/, 'No');
  await answer(/food or medicine/, 'No');
  await tell.click();
  await customer.page.getByRole('heading', { name: /We know/ }).waitFor();
  await clean(customer.page, 'the customer told, phone');

  await ada.page.getByText('The customer says that it got worse').waitFor();
  await ada.page.getByRole('heading', { name: 'Nobody has this job' }).waitFor();
  await customer.page.reload();
  await customer.page.getByRole('heading', { name: /We know/ }).waitFor();
  await clean(ada.page, 'it got worse, office');
  assert.deepEqual([...ada.errors, ...customer.errors], []);
});

test('a customer without mail is told on the telephone, and a deferral is taken back', async () => {
  const priya = await windowOf(shop, 'priya', OFFICE);
  await jobOpen(priya.page, DRIP_PAN);
  await priya.page.getByText(/This is Marrow Creek Climate Service about job/).waitFor();
  await priya.page.getByRole('button', { name: 'Put it back on the board now' }).click();
  await priya.page.getByRole('heading', { name: /Deferred until/ }).waitFor({ state: 'detached' });
  assert.deepEqual(priya.errors, []);
});

for (const [size, viewport] of [['phone', PHONE], ['office', OFFICE]]) {
  test(`the shop's ladders are read, tried on a Saturday night and changed, ${size}`, async () => {
    const ada = await windowOf(shop, 'ada', viewport);
    await ada.page.goto('/ladders');
    await ada.page.getByRole('heading', { name: 'When nobody answers', level: 1 }).waitFor();
    await ada.page.getByRole('button', { name: 'Show it' }).click();
    await ada.page.getByText('By the steps for days on which the shop is closed.').waitFor();
    await clean(ada.page, `ladders, ${size}`);
    const first = ada.page.getByRole('group', { name: 'On working days' }).getByLabel('Step 1, minutes after the start');
    await first.fill('99');
    await ada.page.getByRole('button', { name: 'Keep these ladders' }).click();
    await ada.page.getByText(/Each step comes later than the one before/).first().waitFor();
    await first.fill(size === 'phone' ? '6' : '7');
    await ada.page.getByLabel('Why it changes').fill('The desk is slower on Mondays');
    await ada.page.getByRole('button', { name: 'Keep these ladders' }).click();
    await ada.page.getByText(/Kept as version/).waitFor();
    await ada.page.getByText(/Ada Brandvold: The desk is slower/).first().waitFor();
    assert.deepEqual(ada.errors, []);
  });
}

test('somebody sets quiet hours of their own', async () => {
  const rui = await windowOf(shop, 'rui', PHONE);
  await rui.page.goto('/ladders');
  await rui.page.getByLabel('My own').check();
  await rui.page.getByRole('region', { name: 'My quiet hours' }).getByLabel('From').fill('22:30');
  await rui.page.getByRole('button', { name: 'Keep my quiet hours' }).click();
  await rui.page.getByText('Kept.', { exact: true }).waitFor();
  await rui.page.reload();
  await rui.page.getByLabel('My own').waitFor();
  assert.ok(await rui.page.getByLabel('My own').isChecked());
  assert.ok(await rui.page.getByRole('button', { name: 'Keep these ladders' }).count() === 0, 'a technician changes none');
  await clean(rui.page, 'quiet hours, phone');
  assert.deepEqual(rui.errors, []);
});

// The board: a call taken, jobs moved by drag, by keys and by two touches, seen live by others.
// Belongs here: what a scheduler does on the board. Does not belong here: evidence and requests.
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

const card = (page, complaint) => page.getByRole('list', { name: 'Queue, most urgent first' }).getByRole('listitem').filter({ hasText: complaint });

/**
 * Turns the plan to a day on which nothing is planned yet: the demo plans up to 30 hours ahead, which
 * late in the evening is the day after tomorrow already.
 */
async function turnDays(page, days) {
  for (let day = 0; day < days; day++) await page.getByRole('button', { name: 'Day after' }).click();
}

const lane = (page, name) => page.locator('.line').filter({ hasText: name }).locator('[data-lane]');

/** Waits for what was put down; where something speaks against it, it is given with a reason. */
async function given(page, there) {
  const sheet = page.getByRole('dialog', { name: /^Give job/ });
  const why = sheet.getByLabel('Why it is right nevertheless');
  await there.or(why).first().waitFor();
  if (await why.isVisible()) {
    await why.fill('They agreed to it.');
    await sheet.getByRole('button', { name: /nevertheless$/ }).click();
  }
  await there.waitFor();
}

async function answer(page, question, word) {
  await page.getByRole('group', { name: question }).getByText(word, { exact: true }).click();
}

test('a call is taken by plain questions, and a reload loses nothing of it', async () => {
  const { page, context, errors } = await windowOf(shop, 'priya', OFFICE);
  await page.getByRole('link', { name: 'New call' }).click();
  await page.getByLabel('Who calls').fill('juniper orch');
  await page.getByRole('list', { name: 'Found' }).getByRole('button', { name: /Juniper Alleyne/ }).click();
  await page.getByLabel("What is wrong, in the caller's words").fill('Warm air since noon.');
  await answer(page, 'Is a carbon monoxide alarm sounding?', 'Yes');
  await page.getByText('Everyone goes out into fresh air now').waitFor();
  await clean(page, 'new call with danger, office');
  await page.getByRole('button', { name: 'No gas, smoke or alarm' }).click();
  await page.getByText('Everyone goes out into fresh air now').waitFor({ state: 'detached' });
  await answer(page, 'Is there no heat or no cooling at all?', 'Yes');
  await answer(page, /can't be without heat or cooling/, 'Not sure');
  await page.getByText('Not sure counts as yes.').waitFor();
  await page.getByRole('button', { name: 'Tomorrow morning' }).click();
  await page.getByLabel('Kind of work').selectOption('repair');
  await page.getByText('Usually 120: common practice, no source.').waitFor();
  await page.getByLabel('Minutes on site').fill('ninety');
  await page.getByRole('button', { name: 'Take the call' }).click();
  await page.getByText('“ninety” is not a whole number').first().waitFor();

  await page.reload();
  await page.getByText('Juniper Alleyne').waitFor();
  assert.equal(await page.getByLabel("What is wrong, in the caller's words").inputValue(), 'Warm air since noon.');
  await page.getByLabel('Minutes on site').fill('');
  await page.getByRole('button', { name: 'Take the call' }).click();
  await page.getByRole('heading', { name: 'Warm air since noon.', level: 1 }).waitFor();
  await page.getByText('No heat, someone at risk').first().waitFor();
  await page.getByRole('button', { name: 'History' }).click();
  await page.getByRole('dialog').getByText('Call taken: no heat with a vulnerable occupant.').waitFor();
  await clean(page, 'history, office');
  assert.deepEqual(errors, []);
  await context.close();
});

test('whoever is not known is added in the same form, and another class wants a reason', async () => {
  const { page, context } = await windowOf(shop, 'priya', PHONE);
  await page.getByRole('link', { name: 'New call' }).click();
  await page.getByLabel('Who calls').fill('Perpetua Oakhollow');
  await page.getByRole('button', { name: 'New customer “Perpetua Oakhollow”' }).click();
  assert.equal(await page.getByLabel('Customer').inputValue(), 'Perpetua Oakhollow');
  await page.getByLabel('Address').fill('3 Sluice Bank');
  await page.getByLabel('Town').fill('Vellum Falls');
  await page.getByLabel("What is wrong, in the caller's words").fill('Drips into the cupboard.');
  await answer(page, 'Is water coming out?', 'Yes');
  await page.getByText('Water is coming out.').waitFor();
  await page.getByLabel('It is another class nevertheless').check();
  await page.getByLabel('How urgent').selectOption('comfort');
  await page.getByRole('button', { name: 'Take the call' }).click();
  await page.getByText(/The answers make this "water leaking"/).first().waitFor();
  await clean(page, 'new call refused, phone');
  await page.getByLabel('Why').fill('A cup a week, she says.');
  await page.getByRole('button', { name: 'Take the call' }).click();
  await page.getByRole('heading', { name: 'Drips into the cupboard.', level: 1 }).waitFor();
  await context.close();
});

test('a job dragged onto a line is planned there, and a colleague sees it without a touch', async () => {
  const priya = await windowOf(shop, 'priya', OFFICE);
  const walter = await windowOf(shop, 'walter', OFFICE);
  await turnDays(priya.page, 4);
  const job = card(priya.page, 'Upstairs never gets warm.');
  const grip = job.getByRole('button', { name: /^Move job/ });
  await grip.scrollIntoViewIfNeeded();
  const line = lane(priya.page, 'Rui Castellan');
  await line.scrollIntoViewIfNeeded();
  const [from, to] = [await grip.boundingBox(), await line.boundingBox()];
  const { mouse } = priya.page;
  await mouse.move(from.x + from.width / 2, from.y + from.height / 2);
  await mouse.down();
  await mouse.move(to.x + to.width * 0.25, to.y + 20, { steps: 8 });
  await mouse.move(to.x + to.width * 0.5, to.y + 20, { steps: 8 });
  await priya.page.getByText(/Rui Castellan, .* \d\d:\d\d to \d\d:\d\d/).first().waitFor();
  await mouse.up();
  const bar = line.getByRole('button', { name: /Upstairs never gets warm/ });
  await given(priya.page, bar);
  const minutes = /planned \d\d:(\d\d) to/.exec(await bar.getAttribute('aria-label'))[1];
  assert.ok(['00', '15', '30', '45'].includes(minutes), minutes);
  await card(walter.page, 'Upstairs never gets warm.').getByText('Rui Castellan').waitFor();

  // From the bar to another person's line.
  const [grasp, other] = [await bar.boundingBox(), await lane(priya.page, 'Mette Hollis').boundingBox()];
  await mouse.move(grasp.x + 10, grasp.y + 10);
  await mouse.down();
  await mouse.move(other.x + 60, other.y + 20, { steps: 8 });
  await mouse.up();
  await given(priya.page, lane(priya.page, 'Mette Hollis').getByRole('button', { name: /Upstairs never gets warm/ }));
  await card(walter.page, 'Upstairs never gets warm.').getByText('Mette Hollis').waitFor();
  await clean(priya.page, 'board with a planned job, office');
  assert.deepEqual([...priya.errors, ...walter.errors], []);
  await priya.context.close();
  await walter.context.close();
});

test('a job is moved with the keyboard alone, told at every step, and left where it was by Escape', async () => {
  const { page, context } = await windowOf(shop, 'priya', OFFICE);
  await turnDays(page, 3);
  const said = page.locator('[aria-live="assertive"]');
  const grip = card(page, 'Walk-in at 11 °C and climbing.').getByRole('button', { name: /^Move job/ });
  await grip.focus();
  await page.keyboard.press('Enter');
  await said.getByText(/Picked up job \d+/).waitFor();
  await page.keyboard.press('ArrowDown');
  await page.keyboard.press('Escape');
  await said.getByText(/stays where it was/).waitFor();
  assert.equal(await card(page, 'Walk-in at 11 °C and climbing.').getByText('Not given to anyone').count(), 1);

  await grip.focus();
  await page.keyboard.press('Enter');
  await page.keyboard.press('ArrowDown');
  const before = await said.textContent();
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('ArrowRight');
  const minutes = (text) => { const [, hour, minute] = /(\d\d):(\d\d) to/.exec(text); return Number(hour) * 60 + Number(minute); };
  assert.equal((minutes(await said.textContent()) - minutes(before) + 1440) % 1440, 30);
  // Some days on, when nobody has anything else.
  for (let hour = 0; hour < 72; hour++) await page.keyboard.press('Shift+ArrowRight');
  const held = await said.textContent();
  await page.keyboard.press('Enter');
  const name = /^([^,]+),/.exec(held)[1];
  await given(page, card(page, 'Walk-in at 11 °C and climbing.').getByText(name));
  await context.close();
});

test('on a phone two touches give a job for the next free time; who is not qualified wants a reason', async () => {
  const { page, context, errors } = await windowOf(shop, 'priya', PHONE);
  const job = card(page, 'Water under the air handler');
  await job.getByRole('button', { name: /Give to/ }).tap();
  await page.getByRole('dialog').getByRole('button', { name: /Jonas Kettleby/ }).tap();
  await given(page, job.getByText('Jonas Kettleby'));

  const burner = card(page, 'Burner lights and goes out again');
  await burner.getByRole('button', { name: /Change/ }).tap();
  const sheet = page.getByRole('dialog');
  await sheet.getByRole('button', { name: /Rui Castellan.*not qualified for combustion/ }).tap();
  await sheet.getByText(/Rui Castellan is not qualified for combustion\..* If it is right nevertheless/).waitFor();
  await clean(page, 'a reason is asked for, phone');
  await sheet.getByLabel('Why it is right nevertheless').fill('Jonas is on the telephone with him.');
  await sheet.getByRole('button', { name: 'Give it to Rui Castellan nevertheless' }).tap();
  await burner.getByText('Rui Castellan').waitFor();
  await burner.getByRole('link').tap();
  await page.getByRole('button', { name: 'Details' }).tap();
  await page.getByRole('button', { name: 'History' }).tap();
  await page.getByRole('dialog').getByText('Because: Jonas is on the telephone with him.').waitFor();

  await page.goto('/');
  await page.getByText('Plan', { exact: true }).tap();
  await page.getByRole('heading', { name: 'Board' }).waitFor();
  await page.getByRole('button', { name: 'Weekend' }).tap();
  await clean(page, 'plan of a weekend, phone');
  assert.deepEqual(errors, []);
  await context.close();
});

test('the queue is narrowed by words and class, and says how much there is', async () => {
  const { page, context } = await windowOf(shop, 'priya', OFFICE);
  await page.getByText(/\d+ open; \d+ not given; \d+ past/).waitFor();
  await page.getByRole('button', { name: 'Narrow' }).click();
  await page.getByLabel('Words').fill('chapel close');
  await card(page, 'No heat, 84 years old and alone.').waitFor();
  await card(page, 'Upstairs never gets warm.').waitFor({ state: 'detached' });
  await page.getByLabel('How urgent').selectOption('water');
  await page.getByText('No job matches.').waitFor();
  await clean(page, 'board narrowed, office');
  await context.close();
});

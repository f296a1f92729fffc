// A scheduler plans: proposes, looks, takes one, takes all, gives it back; on a wide screen and a phone.
// Belongs here: the plan page. Does not belong here: whether the plan is good.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { OFFICE, PHONE, clean, shopOpen, windowOf } from './shop.mjs';

const PICTURES = process.env.PLAN_PICTURES;
/** A plan for the weekend covers the next open days whatever day it is. */
const ASKED = /Here it is\. Nothing is changed yet\./;

let shop;
before(async () => {
  shop = await shopOpen();
});
after(async () => {
  await shop?.close();
});

const picture = async (page, name) => PICTURES && page.screenshot({ path: `${PICTURES}/${name}.png`, fullPage: true });

async function proposed(page, which) {
  await page.goto('/plan');
  await page.getByRole('heading', { name: 'Plan', level: 1 }).waitFor();
  await page.getByText(which, { exact: true }).click();
  await page.getByRole('button', { name: 'Propose a plan' }).click();
  await page.getByText(ASKED).waitFor();
}

/** Takes the first change that can be taken alone; others wait for one that is still in their way. */
async function oneTaken(page, takes) {
  const taken = page.getByText(/is taken as planned\./);
  const tried = await takes.count();
  for (let i = 0; i < tried; i += 1) {
    await takes.nth(i).click();
    // Until the service has answered no plan can be asked for.
    await page.locator('button:enabled', { hasText: 'Propose a plan' }).waitFor();
    if (await taken.isVisible()) return;
    await page.getByRole('button', { name: /^Give job \d+ to .* instead$/ }).waitFor();
  }
  assert.fail(`none of ${tried} changes could be taken alone`);
}

test('a plan is proposed, taken in part and whole, and given back', async () => {
  const { page, context, errors } = await windowOf(shop, 'priya', OFFICE);
  await proposed(page, 'Tomorrow');
  await clean(page, 'plan, office');
  await picture(page, 'plan-office');
  const takes = page.getByRole('button', { name: /^Take this one/ });
  const count = await takes.count();
  assert.ok(count >= 2, `${count} changes to take`);
  assert.ok((await page.getByText(/^Because: /).count()) >= count, 'each says why');

  await oneTaken(page, takes);
  assert.equal(await takes.count(), count - 1);
  await page.getByRole('button', { name: `Take all ${count - 1}` }).click();
  await page.getByText('Taken. The board is as the plan says.').waitFor();
  await page.getByText('◆ Taken').first().waitFor();
  await page.getByRole('button', { name: 'Give the last taking back' }).click();
  await page.getByText('Given back. Those jobs are as they were.').waitFor();
  assert.equal(await takes.count(), count - 1);
  assert.deepEqual(errors, []);
  await context.close();
});

test('a change on the board is seen on the plan without loading it again', async () => {
  const [office, phone] = [await windowOf(shop, 'priya', OFFICE), await windowOf(shop, 'priya', PHONE)];
  await proposed(phone.page, 'Tomorrow');
  await clean(phone.page, 'plan, phone');
  await picture(phone.page, 'plan-phone');
  const take = phone.page.getByRole('button', { name: /^Take this one/ }).first();
  const number = /job (\d+)/.exec(await take.textContent())[1];

  await office.page.goto('/plan');
  await office.page.getByRole('button', { name: new RegExp(`^Take this one ?: job ${number}$`) }).click();
  // Taken alone it may meet what the rest of the plan would have moved out of its way; then the
  // next free time is offered.
  const taken = office.page.getByText(new RegExp(`Job ${number} is taken[ ,]`));
  const instead = office.page.getByRole('button', { name: new RegExp(`^Give job ${number} to .* instead$`) });
  // The place for what is refused is always there, and empty until something is.
  const refused = office.page
    .getByRole('region', { name: 'Ask for a plan' })
    .getByRole('alert')
    .filter({ hasText: /\S/ });
  await taken.or(refused).first().waitFor();
  if (await refused.isVisible()) {
    assert.ok(await instead.isVisible(), await refused.textContent());
    await instead.click();
  }
  await taken.waitFor();

  await phone.page.getByText('◆ Taken').first().waitFor();
  await phone.page.getByRole('button', { name: 'Let this plan go' }).click();
  await office.page.getByText('✕ Let go').waitFor();
  assert.deepEqual([...office.errors, ...phone.errors], []);
  await office.context.close();
  await phone.context.close();
});

test('who does not give out work is told who does', async () => {
  const { page, context } = await windowOf(shop, 'rui', PHONE);
  await page.goto('/plan');
  await page.getByText(/A scheduler, a service manager or the owner asks for a plan/).waitFor();
  await clean(page, 'plan, technician');
  await context.close();
});

test('ways can be changed, and what cannot be says so at its field', async () => {
  const { page, context, errors } = await windowOf(shop, 'priya', OFFICE, 'dark');
  await page.goto('/plan');
  await page.getByText('How ways are reckoned').click();
  const factor = page.getByLabel(/^Road factor/);
  await factor.fill('9');
  await page.getByRole('button', { name: 'Keep these' }).click();
  await page.getByText('This must lie between 1 and 3.', { exact: true }).waitFor();
  await clean(page, 'ways, wrong');
  await factor.fill('1.4');
  await page.getByRole('button', { name: 'Keep these' }).click();
  await page.getByText('Kept; the next plan reckons with it.').waitFor();
  assert.deepEqual(errors, []);
  await context.close();
});

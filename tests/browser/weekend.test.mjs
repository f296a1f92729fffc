// The weekend and the rules, as a scheduler, a manager and a technician meet them.
// Belongs here: what the two pages let somebody see and do, at both widths. Does not belong here:
// the numbers.
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

const weekend = async (page) => {
  await page.goto('/weekend');
  await page.getByRole('heading', { name: 'The chance of waiting too long' }).waitFor();
};

for (const [size, viewport] of [['phone', PHONE], ['office', OFFICE]]) {
  for (const scheme of ['light', 'dark']) {
    test(`${size}, ${scheme}: the weekend and the rules are within reach of everyone`, async () => {
      const { page, context, errors } = await windowOf(shop, 'ada', viewport, scheme);
      await weekend(page);
      await clean(page, `weekend, ${size}, ${scheme}`);
      await page.getByText('The same as a table').click();
      await page.getByRole('columnheader', { name: 'Is it enough' }).waitFor();
      await clean(page, `weekend's table, ${size}, ${scheme}`);
      await page.goto('/rules');
      await page.getByRole('link', { name: 'Everybody on call is out and it goes on' }).first().click();
      await page.getByRole('heading', { name: 'What would it have done?' }).waitFor();
      await page.getByText('It can be read').waitFor();
      await clean(page, `rule, ${size}, ${scheme}`);
      await page.goto('/rules');
      await page.getByRole('heading', { name: 'What fired' }).waitFor();
      await clean(page, `rules, ${size}, ${scheme}`);
      assert.deepEqual(errors, []);
      await context.close();
    });
  }
}

test('cold that the scheduler types in raises what is needed, and can be taken back', async () => {
  const { page, context } = await windowOf(shop, 'priya', OFFICE);
  await page.goto('/weekend');
  await page.getByText('Saturday', { exact: true }).first().click();
  await page.getByRole('heading', { name: 'Outdoors' }).waitFor();
  await page.getByText('The same as a table').click();
  await page.getByRole('columnheader', { name: 'Needed' }).waitFor();
  /** Waits until the people needed over the whole day are such, and says how many. */
  const needed = async (words, than = 0) => {
    const found = await page.waitForFunction(
      ([words, than]) => {
        const of = [...document.querySelectorAll('table')].find((table) =>
          [...table.querySelectorAll('th')].some((head) => head.textContent.trim() === 'Needed'),
        );
        const cells = [...(of?.querySelectorAll('tbody tr td:nth-child(2)') ?? [])];
        const sum = cells.reduce((all, cell) => all + Number(cell.textContent), 0);
        const so = words === 'above' ? sum > than : sum < than;
        return so ? sum : false;
      },
      [words, than],
    );
    return found.jsonValue();
  };
  const typed = await needed('above');
  const day = page.locator('ul.days input').first();
  await day.fill('60');
  await day.press('Tab');
  await page.getByText(/60 °F\./).waitFor();
  const mild = await needed('below', typed);

  await day.fill('-20');
  await day.press('Tab');

  const cold = await needed('above', mild * 1.2);
  assert.ok(cold > mild * 1.2, `${cold} after ${mild}`);
  await day.fill('cold');
  await day.press('Tab');
  await page.getByText('Type whole degrees Fahrenheit').waitFor();
  await context.close();
});

test('a rule is written with help, tried, and kept as a new version', async () => {
  const { page, context } = await windowOf(shop, 'ada', OFFICE);
  await page.goto('/rules/new');
  await page.getByLabel('What it is called').fill('Two urgent calls at once');
  await page.getByLabel('When', { exact: true }).fill('urgent_unasigned >= 2');
  await page.getByText('did you mean urgent_unassigned?').waitFor();
  await page.getByRole('button', { name: 'Write urgent_unassigned' }).click();
  await page.getByText('It can be read').waitFor();
  assert.equal(await page.getByLabel('When', { exact: true }).inputValue(), 'urgent_unassigned >= 2');

  await page.getByRole('button', { name: 'On a drawn weekend' }).click();
  await page.getByText(/^Would /).waitFor();
  await page.getByText(/Over 20 drawn weekends/).waitFor();
  await page.getByRole('button', { name: 'On last weekend' }).click();
  await page.getByText(/calls came\. They are served again/).waitFor();

  await page.getByRole('button', { name: 'Keep the rule' }).click();
  await page.getByRole('heading', { name: 'Versions' }).waitFor();
  await page.getByLabel('Why it is changed').fill('Three is enough to wake somebody.');
  await page.getByLabel('When', { exact: true }).fill('urgent_unassigned >= 3');
  await page.getByRole('button', { name: 'Keep as a new version' }).click();
  await page.getByText('Kept as version 2.').waitFor();
  await page.getByText('Three is enough to wake somebody.').waitFor();
  await context.close();
});

test('a technician sees the rules and changes none', async () => {
  const { page, context } = await windowOf(shop, 'mette', PHONE);
  await page.goto('/rules');
  await page.getByRole('heading', { name: 'Rules', level: 1 }).waitFor();
  assert.equal(await page.getByRole('link', { name: 'New rule' }).count(), 0);
  await page.getByRole('link', { name: 'Comfort waits for the next open day' }).first().click();
  await page.getByText('A service manager or the owner changes rules').waitFor();
  assert.equal(await page.getByRole('button', { name: 'Keep as a new version' }).count(), 0);
  await context.close();
});

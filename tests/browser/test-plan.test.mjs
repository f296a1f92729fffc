// The plan of tests and the waterfall, as a technician and a printer see them.
// Belongs here: both screens at both widths, the sheet on paper. Does not belong here: whether
// the plan is right (the engine's tests), and what a blind reader gets (tests/http).
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { OFFICE, PHONE, clean, jobOpen, shopOpen, turnTo, windowOf } from './shop.mjs';

const HELD = 'No heat since last night, outdoor unit silent.';

let shop;
before(async () => {
  shop = await shopOpen();
});
after(async () => {
  await shop?.close();
});

for (const [width, viewport] of [['phone', PHONE], ['office', OFFICE]]) {
  test(`the plan of tests leads from answer to answer and prints on one sheet, ${width}`, async () => {
    const { page, context, errors } = await windowOf(shop, 'rui', viewport);
    await jobOpen(page, HELD);
    if (width === 'phone') await turnTo(page, 'Verdict');
    await page.getByRole('link', { name: 'The whole plan, for the truck' }).click();
    await page.getByRole('heading', { name: /^Test plan, job \d+$/ }).waitFor();
    const steps = page.locator('ol.steps > li');
    await steps.first().waitFor();
    const count = await steps.count();
    assert.ok(count >= 2, `${count} steps`);
    // Every answer goes to a step that there is, or says how it ends.
    for (const link of await page.locator('td a').all()) {
      const to = await link.getAttribute('href');
      assert.equal(await page.locator(to).count(), 1, `${to} is on the sheet`);
    }
    await clean(page, `the plan, ${width}`);
    if (process.env.LOOK) await page.screenshot({ path: `${process.env.LOOK}/plan-${width}.png`, fullPage: true });

    const sheet = (await page.pdf({ format: 'A4' })).toString('latin1');
    const pages = sheet.match(/\/Type\s*\/Page\b/g).length;
    assert.ok(pages <= 2, `${pages} pages of paper: more than one sheet has sides`);
    assert.deepEqual(errors, []);
    await context.close();
  });

  test(`the waterfall shows every reading as a length, in words and as a table, ${width}`, async () => {
    const { page, context, errors } = await windowOf(shop, 'rui', viewport);
    await jobOpen(page, HELD);
    if (width === 'phone') await turnTo(page, 'Verdict');
    await page.getByText('How each reading moved it').click();
    const list = page.getByRole('list', { name: 'Share of each suspect after each reading' });
    await list.getByText('before any reading').waitFor();
    const rows = await list.getByRole('listitem').count();
    assert.ok(rows >= 2, `${rows} rows`);
    await page.getByText('The same as a table').click();
    const table = page.getByRole('region', { name: 'Shares as a table' });
    assert.equal(await table.getByRole('row').count(), rows + 1, 'a row of the table for each, and its head');
    await clean(page, `the waterfall, ${width}`);
    if (process.env.LOOK) await list.screenshot({ path: `${process.env.LOOK}/waterfall-${width}.png` });
    assert.deepEqual(errors, []);
    await context.close();
  });
}

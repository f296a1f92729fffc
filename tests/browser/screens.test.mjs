// Every screen at phone and office width, light and dark: axe clean, nothing cut off.
// Belongs here: looks. With PICTURES=1 the README's pictures are taken anew.
import assert from 'node:assert/strict';
import { mkdir } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { after, before, test } from 'node:test';
import { OFFICE, PHONE, clean, shopOpen, turnTo, windowOf } from './shop.mjs';

const PICTURES = fileURLToPath(new URL('../../web-client/pictures', import.meta.url));
const HELD = 'No heat since last night, outdoor unit silent.';

/** The pictures that the README shows. */
const SHOWN = [
  'board-office-light',
  'job-office-light',
  'job-phone-light',
  'job-verdict-phone-light',
  'blind-read-phone-dark',
  'approval-office-light',
  'weekend-office-light',
  'rota-office-light',
  'plan-office-light',
];

async function picture(page, name) {
  if (!process.env.PICTURES || !SHOWN.includes(name)) return;
  await page.evaluate(() => scrollTo(0, 0));
  await page.screenshot({ path: `${PICTURES}/${name}.png` });
}

let shop;
before(async () => {
  shop = await shopOpen();
  if (process.env.PICTURES) await mkdir(PICTURES, { recursive: true });
});
after(async () => {
  await shop?.close();
});

const board = async (page) => {
  await page.goto('/');
  await page.getByText(HELD).waitFor();
};
const job = async (page) => {
  await board(page);
  await page.getByRole('link', { name: HELD }).click();
  await page.locator('[data-point="T1"]').waitFor();
};
const request = (number, then) => async (page) => {
  await page.goto('/requests');
  await page.getByText('Open', { exact: true }).click();
  await page.getByRole('link', { name: new RegExp(`Job ${number}`) }).click();
  await page.getByText(then).first().waitFor();
};
const plan = async (page) => {
  await page.goto('/plan');
  await page.getByText('Tomorrow', { exact: true }).click();
  await page.getByRole('button', { name: 'Propose a plan' }).click();
  await page.getByText(/Here it is\. Nothing is changed yet\./).waitFor();
};
const at = (path, heading) => async (page) => {
  await page.goto(path);
  await page.getByRole('heading', { name: heading }).first().waitFor();
};

/** Name, who looks, how they get there. A phone shows a job's four views one at a time. */
const SCREENS = [
  ['sign-in', null, async () => {}],
  ['board', 'priya', board],
  ['new-job', 'priya', at('/jobs/new', /job|call/i)],
  ['job', 'rui', job],
  ['requests', 'ada', at('/requests', 'Condemn requests')],
  ['blind-read', 'mette', request(9, 'What is claimed is not on this page')],
  ['approval', 'ada', request(8, 'Approve the cost')],
  ['customers', 'priya', at('/customers', 'Customers')],
  [
    'unit',
    'priya',
    async (page) => {
      await page.goto('/customers');
      await page.getByRole('link', { name: /Wilhelmina Fairlock/ }).click();
      await page.getByRole('link', { name: 'heat pump' }).click();
      await page.getByRole('group', { name: 'run winding' }).waitFor();
    },
  ],
  ['people', 'walter', at('/people', 'People')],
  ['sign-ins', 'walter', at('/sign-ins', /sign-in/i)],
  ['shop', 'walter', at('/shop', /shop/i)],
  ['mail', 'ada', at('/mail', /mail/i)],
  ['search', 'jonas', request(9, 'Finding a second reader')],
  ['past-talk', 'jonas', async (page) => {
    await page.goto('/search?q=capacitor');
    await page.locator('mark').first().waitFor();
  }],
  ['reads', 'ada', at('/reads', 'Who reads for whom')],
  ['weekend', 'priya', at('/weekend', 'Will everybody be served in time?')],
  ['rota', 'priya', at('/rota', 'Rota')],
  ['fairness', 'priya', at('/rota/fairness', 'Who has had how much')],
  ['plan', 'priya', plan],
  ['rules', 'ada', at('/rules', 'Rules')],
  ['ladders', 'ada', at('/ladders', 'When nobody answers')],
  ['circuits', 'ada', at('/circuits', 'Circuits')],
  ['circuit', 'ada', at('/circuits/walk-in-cooler', 'Versions')],
  ['meters', 'rui', at('/meters', 'Meters')],
];

for (const [size, viewport] of [['phone', PHONE], ['office', OFFICE]]) {
  for (const scheme of ['light', 'dark']) {
    test(`${size}, ${scheme}: every screen is within reach of everyone`, async () => {
      const windows = new Map();
      for (const [name, who, go] of SCREENS) {
        if (!windows.has(who)) windows.set(who, await windowOf(shop, who, viewport, scheme));
        const { page } = windows.get(who);
        await go(page);
        await clean(page, `${name}, ${size}, ${scheme}`);
        await picture(page, `${name}-${size}-${scheme}`);
        if (name === 'job' && size === 'phone') {
          for (const view of ['Verdict', 'Readings', 'Talk']) {
            await turnTo(page, view);
            await clean(page, `job ${view}, ${size}, ${scheme}`);
            await picture(page, `job-${view.toLowerCase()}-${size}-${scheme}`);
          }
        }
      }
      const errors = [...windows.values()].flatMap(({ errors }) => errors);
      assert.deepEqual(errors, []);
      for (const { context } of windows.values()) await context.close();
    });
  }
}

test('a narrow old phone and the sunlight theme cut nothing off', async () => {
  const { page, context } = await windowOf(shop, 'rui', { width: 320, height: 640 });
  await page.getByRole('button', { name: 'More' }).click();
  await page.getByRole('button', { name: 'Sunlight' }).click();
  await job(page);
  await clean(page, 'job at 320 px in sunlight');
  await board(page);
  await clean(page, 'board at 320 px in sunlight');
  await context.close();
});

// The talk about a job, three people at once, one of them behind a chimney for a while.
// Belongs here: asks and their answers, photos, names, who looks and writes, what waits and what
// collides. Does not belong here: the gate's own story (story.test.mjs).
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { OFFICE, PHONE, clean, jobOpen, shopOpen, turnTo, windowOf } from './shop.mjs';

const FAN = 'Outdoor fan starts only with a push.';

let shop;
before(async () => {
  shop = await shopOpen();
});
after(async () => {
  await shop?.close();
});

const log = (page) => page.getByRole('log', { name: 'Talk so far' });

async function say(page, text) {
  await page.getByLabel('Message').fill(text);
  await page.getByRole('button', { name: 'Send', exact: true }).click();
}

/** Fills in the card of the newest ask that is open. */
async function fillIn(page, value) {
  await log(page).getByRole('button', { name: 'Fill it in' }).last().click();
  const sheet = page.getByRole('dialog', { name: 'The reading asked for' });
  await sheet.getByLabel('Value').fill(value);
  await sheet.getByRole('button', { name: 'Add the reading' }).click();
  await sheet.waitFor({ state: 'detached' });
}

/** A photo as a phone's camera gives it: a JPEG drawn by the page itself. */
async function photoFile(page) {
  const base64 = await page.evaluate(() => {
    const canvas = document.createElement('canvas');
    [canvas.width, canvas.height] = [2400, 1800];
    const pen = canvas.getContext('2d');
    pen.fillStyle = '#777';
    pen.fillRect(0, 0, 2400, 1800);
    pen.fillStyle = '#111';
    pen.fillRect(900, 500, 500, 800);
    return canvas.toDataURL('image/jpeg', 0.9).split(',')[1];
  });
  return { name: 'IMG_0001.jpg', mimeType: 'image/jpeg', buffer: Buffer.from(base64, 'base64') };
}

test('an ask is answered from its card, a colleague is named, and everyone sees who looks and writes', async () => {
  const mette = await windowOf(shop, 'mette', PHONE);
  const rui = await windowOf(shop, 'rui', OFFICE);
  const ada = await windowOf(shop, 'ada', OFFICE);
  await jobOpen(rui.page, FAN);
  await jobOpen(ada.page, FAN);
  await jobOpen(mette.page, FAN);
  await turnTo(mette.page, 'Talk');
  await log(mette.page).getByText('names you').first().waitFor();
  await rui.page.getByText(/Looking too: .*Mette Hollis/).waitFor();
  await clean(mette.page, 'an open ask, phone');

  await log(mette.page).getByRole('button', { name: 'Fill it in' }).click();
  await mette.page.getByRole('dialog', { name: 'The reading asked for' }).waitFor();
  await clean(mette.page, "an ask's card being filled in, phone");
  await mette.page.getByRole('dialog').getByRole('button', { name: 'Close' }).click();
  await fillIn(mette.page, '2.1');
  for (const { page } of [rui, ada, mette]) {
    await log(page).getByText(/answers what Rui Castellan asked for: .*2\.1/).waitFor();
    await log(page).getByRole('button', { name: /Answered by r\d+/ }).waitFor();
    assert.equal(await log(page).getByRole('button', { name: 'Fill it in' }).count(), 0);
  }

  // The manager writes; the others see that, then the words, with the name in them.
  await ada.page.getByRole('button', { name: 'Name a colleague' }).click();
  await ada.page.getByRole('group', { name: 'Name a colleague' }).getByRole('button', { name: '@Jonas Kettleby' }).click();
  await ada.page.getByLabel('Message').pressSequentially('you have a can on the truck.');
  await rui.page.getByText(/Ada .* is writing…/).waitFor();
  await ada.page.getByRole('button', { name: 'Send', exact: true }).click();
  await log(mette.page).getByText('you have a can on the truck.').waitFor();
  await log(ada.page).getByText(/Read by .*(Mette|Rui)/).first().waitFor();
  // Whoever is not looking is told by mail; those who look need none.
  await ada.page.goto('/mail');
  await ada.page.getByRole('listitem').filter({ hasText: 'jonas@marrowcreek.example' }).filter({ hasText: /named in the talk/ }).first().waitFor();
  assert.deepEqual([...rui.errors, ...mette.errors, ...ada.errors], []);
  for (const { context } of [rui, mette, ada]) await context.close();
});

test('what was written without signal arrives in its order, a photo among it; what collides is said', async () => {
  const mette = await windowOf(shop, 'mette', PHONE);
  const rui = await windowOf(shop, 'rui', OFFICE);
  const jonas = await windowOf(shop, 'jonas', OFFICE);
  for (const { page } of [rui, jonas, mette]) await jobOpen(page, FAN);
  await turnTo(mette.page, 'Talk');

  // One ask, which two people are going to answer.
  await rui.page.getByRole('button', { name: 'Ask', exact: true }).click();
  const asking = rui.page.getByRole('dialog', { name: 'Ask for a reading' });
  await clean(rui.page, 'asking for a reading, office');
  await asking.getByRole('combobox', { name: /^From/ }).selectOption('WC');
  await asking.getByRole('combobox', { name: /^To/ }).selectOption('WR');
  await asking.getByLabel('Why').fill('Is the run winding whole?');
  await asking.getByRole('button', { name: 'Ask for this reading' }).click();
  await log(mette.page).getByText('Is the run winding whole?').waitFor();

  await mette.context.setOffline(true);
  await mette.page.getByText('Offline.').waitFor();
  await say(mette.page, 'One: behind the chimney again.');
  await mette.page.locator('input[type=file]').setInputFiles(await photoFile(mette.page));
  await log(mette.page).getByRole('img', { name: 'Your photo' }).waitFor();
  await say(mette.page, 'Three: that was the can.');
  await fillIn(mette.page, '31.0');
  await log(mette.page).getByText('Your answer is kept here, not sent yet.').waitFor();
  await mette.page.getByText(/4 things are kept here/).waitFor();
  await clean(mette.page, 'four things kept, phone');

  // Meanwhile a colleague on the ground answers the same ask.
  await fillIn(jonas.page, '30.4');
  await log(rui.page).getByText(/answers what Rui Castellan asked for: .*30\.4/).waitFor();

  await mette.context.setOffline(false);
  await log(rui.page).getByText('Three: that was the can.').waitFor();
  const order = await log(rui.page).getByRole('article').evaluateAll((all) =>
    all.map((one) => one.innerText + (one.querySelector('.photo') ? ' PHOTO' : '')).map((text) => /One: |PHOTO|Three: /.exec(text)?.[0]).filter(Boolean));
  assert.deepEqual(order.slice(-3), ['One: ', 'PHOTO', 'Three: ']);
  // The collision is shown, not merged: one reading counts, hers is hers to take anew or to let go.
  await log(mette.page).getByText(/Your answer to an ask was not accepted\. .*Somebody has answered this ask meanwhile/).waitFor();
  await clean(mette.page, 'a collision, phone');
  assert.equal(await rui.page.getByText(/31(\.0)? Ω/).count(), 0);
  await log(mette.page).getByRole('button', { name: 'Throw it away' }).click();
  await mette.page.getByText(/kept here and not sent yet/).waitFor({ state: 'detached' });

  // The photo opens large, for everyone, and what was said is found again.
  await log(rui.page).getByRole('button', { name: /Photo by Mette Hollis/ }).last().click();
  await rui.page.getByRole('dialog', { name: 'Photo' }).getByRole('img').waitFor();
  await clean(rui.page, 'a photo shown large, office');
  await rui.page.getByRole('dialog', { name: 'Photo' }).getByRole('button', { name: 'Close' }).click();
  await rui.page.goto('/search');
  await rui.page.getByLabel('Words that were said').fill('chimney');
  await rui.page.getByRole('button', { name: 'Search', exact: true }).click();
  await rui.page.locator('mark', { hasText: 'chimney' }).first().waitFor();
  await clean(rui.page, 'past talk found, office');
  assert.deepEqual([...rui.errors, ...mette.errors, ...jonas.errors], []);
  for (const { context } of [rui, mette, jonas]) await context.close();
});

test('a closed job can still be talked about; its evidence stands', async () => {
  const rui = await windowOf(shop, 'rui', PHONE);
  await rui.page.goto('/');
  await rui.page.getByRole('link', { name: 'Heat pump silent, fan runs.' }).click();
  await rui.page.getByRole('heading', { name: 'Heat pump silent, fan runs.', level: 1 }).waitFor();
  await turnTo(rui.page, 'Talk');
  await log(rui.page).getByRole('button', { name: /Photo by Rui Castellan|Here is your answer/ }).waitFor();
  await rui.page.getByText('This job is closed: its evidence stands as it is.').waitFor();
  assert.equal(await rui.page.getByRole('button', { name: 'Ask', exact: true }).count(), 0);
  assert.equal(await rui.page.getByRole('link', { name: 'Ask to condemn a part' }).count(), 0);
  await clean(rui.page, 'the talk of a closed job, phone');
  await say(rui.page, 'The plug end still holds, I drove past.');
  await log(rui.page).getByText('The plug end still holds, I drove past.').waitFor();
  await rui.page.getByText('kept here and not sent yet').waitFor({ state: 'detached' });
  assert.equal(await log(rui.page).getByRole('button', { name: 'Fill it in' }).count(), 0);
});

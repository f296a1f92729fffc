import { shopOpen, windowOf, OFFICE, PHONE } from './shop.mjs';
console.time('start');
const shop = await shopOpen();
console.timeEnd('start');
const { page, errors } = await windowOf(shop, 'priya', OFFICE);
const go = async (path, name, vp, full = true) => { await page.setViewportSize(vp); await page.goto(path); await page.waitForTimeout(3000); await page.screenshot({ path: `/tmp/shots/${name}.png`, fullPage: full }); };
await go('/', 'board', OFFICE);
await go('/', 'board-phone', PHONE);
await go('/weekend', 'weekend', OFFICE);
await go('/rota', 'rota', OFFICE);
await go('/rota', 'rota-phone', PHONE);
await go('/rota/fairness', 'fair', OFFICE);
await go('/jobs/new', 'newcall', PHONE);
await go('/plan', 'plan', OFFICE);
const b = await windowOf(shop, 'ada', OFFICE);
for (const [p, n] of [['/rules', 'rules'], ['/ladders', 'ladders']]) { await b.page.goto(p); await b.page.waitForTimeout(2500); await b.page.screenshot({ path: `/tmp/shots/${n}.png`, fullPage: true }); }
console.log(errors, b.errors);
await shop.close();

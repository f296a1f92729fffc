// The demo shop in a real server and a real browser.
// Belongs here: starting and stopping both, opening a window as someone, what every page owes
// everyone. Does not belong here: what anyone does there.
import assert from 'node:assert/strict';
import { execFile, spawn } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { AxeBuilder } from '@axe-core/playwright';
import { chromium } from 'playwright-core';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const PASSWORD = 'roof in the rain';
/** A page that takes longer than this to do what it should has failed. */
const WAIT_MS = 20_000;
const START_MS = 240_000;

const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];

export const PHONE = { width: 390, height: 844 };
export const OFFICE = { width: 1440, height: 900 };

const BINARY = join(process.env.CARGO_TARGET_DIR ?? join(ROOT, 'target'), 'debug', 'countersign');
const SURROUNDINGS = { ...process.env, DATABASE_URL: undefined, RUST_LOG: 'warn' };

const folder = () => mkdtemp(join(tmpdir(), 'countersign-browser-'));

/** Starts the demo on a port and in a folder of its own. */
export async function shopOpen() {
  return served('demo', await folder());
}

/** Founds a shop with nobody but its owner, and starts the service as it is started in earnest. */
export async function ownShopOpen() {
  const data = await folder();
  const owner = { email: 'tove@osier.example', password: 'a long enough one' };
  const told = ['--name', 'Osier Lane Heating', '--zone', 'Europe/Oslo', '--currency', 'NOK', '--owner', 'Tove Marsh', '--email', owner.email];
  await promisify(execFile)(BINARY, ['new-shop', '--data', join(data, 'postgres'), ...told], {
    cwd: ROOT,
    env: { ...SURROUNDINGS, COUNTERSIGN_PASSWORD: owner.password },
  });
  return { ...(await served('serve', data)), owner };
}

async function served(command, data) {
  const server = spawn(BINARY, [command, '--listen', '127.0.0.1:0', '--data', join(data, 'postgres'), '--signin-per-min', '600'], {
    cwd: ROOT,
    env: SURROUNDINGS,
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let said = '';
  const address = await new Promise((resolve, reject) => {
    const timer = setTimeout(() => reject(new Error(`the server did not start:\n${said}`)), START_MS);
    const listen = (chunk) => {
      said += chunk;
      const found = /Countersign is at (http:\/\/[0-9.:]+)/.exec(said);
      if (found) {
        clearTimeout(timer);
        resolve(found[1]);
      }
    };
    server.stdout.on('data', listen);
    server.stderr.on('data', listen);
    server.on('exit', (code) => reject(new Error(`the server ended with ${code}:\n${said}`)));
  });
  const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-background-networking', '--disable-component-update', '--no-first-run'],
  });
  return {
    address,
    browser,
    async close() {
      await browser.close();
      const ended = new Promise((resolve) => server.once('exit', resolve));
      server.kill('SIGINT');
      await ended;
      await rm(data, { recursive: true, force: true });
    },
  };
}

/** Opens a window of its own, signed in as someone of the demo shop. */
export async function windowOf(shop, who, viewport, colorScheme = 'light') {
  const context = await shop.browser.newContext({
    viewport,
    colorScheme,
    hasTouch: viewport.width < 900,
    reducedMotion: 'reduce',
    baseURL: shop.address,
  });
  context.setDefaultTimeout(WAIT_MS);
  const page = await context.newPage();
  const errors = [];
  page.on('pageerror', (error) => errors.push(error.message));
  await page.goto('/');
  if (who) {
    await page.getByLabel('E-mail').fill(`${who}@marrowcreek.example`);
    await page.getByLabel('Password').fill(PASSWORD);
    await page.getByRole('button', { name: 'Sign in', exact: true }).click();
    await page.getByRole('heading', { name: 'Board', level: 1 }).waitFor();
  }
  return { page, context, errors };
}

/** Goes to the job with this complaint by the board. */
export async function jobOpen(page, complaint) {
  await page.goto('/');
  await page.getByRole('link', { name: complaint }).click();
  await page.getByRole('heading', { name: complaint, level: 1 }).waitFor();
}

/** On a phone: turns to one of the job's four views. */
export async function turnTo(page, name) {
  await page.getByRole('navigation', { name: 'Parts of this job' }).getByRole('button', { name }).click();
}

/** Takes a reading on a phone: two touches, the value, done. */
export async function readingTake(page, from, to, shown) {
  await page.locator(`[data-point="${from}"]`).click();
  await page.locator(`[data-point="${to}"]`).click();
  await page.getByRole('button', { name: 'Enter the reading' }).click();
  const sheet = page.getByRole('dialog', { name: 'Reading' });
  if (shown === 'OL') {
    await sheet.getByText('OL', { exact: true }).click();
  } else {
    await sheet.getByLabel('Value').fill(String(shown));
  }
  await sheet.getByRole('button', { name: 'Add the reading' }).click();
  await sheet.waitFor({ state: 'detached' });
}

/** Nothing hangs out of the window, and axe finds nothing on what is shown now. */
export async function clean(page, name) {
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  assert.ok(wide <= 0, `${name}: ${wide} px hang out to the right`);
  // From the top: what the bar at the top happens to lie over differs with every pixel scrolled.
  await page.evaluate(() => scrollTo(0, 0));
  const { violations } = await new AxeBuilder({ page }).withTags(RULES).analyze();
  const said = violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.target.join(' ')).slice(0, 4).join(' | ')}`);
  assert.deepEqual(said, [], name);
}

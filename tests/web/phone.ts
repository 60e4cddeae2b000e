/**
 * A phone with the page: a real browser at the size of a small phone, on a server over a real ledger.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, BrowserContext, BrowserContextOptions, Page } from 'playwright-core';
import { expect, onTestFinished } from 'vitest';
import { localDay } from '../../src/cli/context.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { builtPageFolder, loadAssets } from '../../src/web/assets.js';
import { browserOptions, chromium } from '../support/browser.js';
import { seedling } from '../support/ledger.js';
import { type Served, type ServeOptions, serve } from './served.js';

const SMALL_PHONE: BrowserContextOptions = {
  viewport: { width: 360, height: 640 },
  hasTouch: true,
  isMobile: true,
  deviceScaleFactor: 2,
};

export const realToday = () => localDay(new Date());

export const PLANTS = [
  seedling('23-001', {
    seedParent: 'Quillon Dusk',
    pollenParent: 'Stannick',
    station: 'bench 1 / row 1 / 1',
    sown: '2023-02-11',
  }),
  seedling('23-002', {
    seedParent: 'Quillon Dusk',
    pollenParent: 'Stannick',
    station: 'bench 1 / row 1 / 2',
    sown: '2023-02-11',
  }),
];

/** The page as it was built, read once. */
export const PAGE = loadAssets(builtPageFolder());

/** With the real page and today as the phone has it. */
export function servePage(plants = PLANTS, options: ServeOptions = {}): Promise<Served> {
  return serve(plants, { assets: PAGE, today: realToday, ...options });
}

let shared: Promise<Browser> | undefined;

/** One browser for the tests of a file that need no camera; each phone is a context of its own. */
export async function newPhone(
  args: readonly string[] = [],
  more: BrowserContextOptions = {},
): Promise<BrowserContext> {
  if (args.length === 0) shared ??= launch([]);
  const browser = await (args.length === 0 && shared !== undefined ? shared : launch(args));
  const context = await browser.newContext({ ...SMALL_PHONE, ...more });
  onTestFinished(() => (args.length === 0 ? context.close() : browser.close()));
  return context;
}

export async function closeShared(): Promise<void> {
  await (await shared)?.close();
  shared = undefined;
}

async function launch(args: readonly string[]): Promise<Browser> {
  return chromium.launch(await browserOptions(args));
}

/** A phone that can be switched off and on again: what it keeps lies in a folder. */
export async function phoneInFolder(): Promise<{ start(): Promise<BrowserContext> }> {
  const folder = mkdtempSync(join(tmpdir(), 'pottag-phone-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return {
    async start() {
      const context = await chromium.launchPersistentContext(folder, {
        ...SMALL_PHONE,
        ...(await browserOptions()),
      });
      onTestFinished(() => context.close().catch(() => {}));
      return context;
    },
  };
}

/** Opens the page by the address of the QR code and pairs; what the browser complains of fails the test. */
export async function openPaired(
  context: BrowserContext,
  served: Served,
  name = 'Wren',
  at = 0,
): Promise<Page> {
  const page = await context.newPage();
  failOnComplaints(page);
  await page.goto(`${served.server.urls[at]}#pair=${served.desk.renew()}`);
  await page.getByLabel('Your name').fill(name);
  await page.getByRole('button', { name: 'Pair' }).click();
  await page.getByRole('heading', { name: 'Which plant?' }).waitFor();
  return page;
}

/** Errors in the page's own code, and everything that its Content-Security-Policy had to stop. */
export function failOnComplaints(page: Page): void {
  const complaints: string[] = [];
  page.on('pageerror', (error) => complaints.push(error.message));
  page.on('console', (message) => {
    if (/Content Security Policy|Refused to/.test(message.text())) complaints.push(message.text());
  });
  onTestFinished(() => expect(complaints).toEqual([]));
}

export async function typeId(page: Page, text: string): Promise<void> {
  await page.getByLabel('ID on the tag').fill(text);
  await page.getByRole('button', { name: 'Find', exact: true }).click();
}

/** On a walk: types what stands here, or which station it is. */
export async function sayHere(page: Page, text: string): Promise<void> {
  await page.locator('#typed').fill(text);
  await page.getByRole('button', { name: 'Find', exact: true }).click();
}

/** @param text the ID, or what the tag says */
export async function openPlant(page: Page, text: string): Promise<void> {
  await typeId(page, text);
  await page.getByRole('heading', { name: text.split('.')[0] ?? '' }).waitFor();
}

export const press = (page: Page, name: string | RegExp) =>
  page.getByRole('button', { name, exact: true }).click();

export const allSaved = (page: Page) => page.getByRole('button', { name: 'All saved' }).waitFor();

/** What stands in the ledger under all plants, in the order of the journal. */
export async function recorded({ ledger, ids }: { ledger: Ledger; ids: readonly string[] }) {
  const found = [];
  for (const id of ids) {
    for (const one of await ledger.observations(id as never)) found.push({ id, ...one });
  }
  return found.sort((a, b) => a.number - b.number);
}

/** Waits until the page's own files are kept on the phone. */
export async function startsWithoutReception(page: Page): Promise<void> {
  await page.evaluate('navigator.serviceWorker.ready.then(() => true)');
}

/** Waits until the phone has its copy of the plants. */
export async function knowsPlants(page: Page, count: number): Promise<void> {
  await press(page, 'About');
  await page.getByText(`knows ${count} plants`).waitFor();
  await press(page, 'Back');
}

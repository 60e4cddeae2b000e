/**
 * Every screen at the size of a small phone: no violation that axe-core finds (WCAG 2.2 A and AA), targets
 * that a thumb hits, nothing that runs out of the width; and the keyboard alone suffices.
 */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { AxeResults } from 'axe-core';
import type { Page } from 'playwright-core';
import sharp from 'sharp';
import { afterAll, describe, expect, it } from 'vitest';
import type { ScanView } from '../../src/web/views.js';
import { photoOnBench, sampleQrTag } from '../support/sample-tag.js';
import {
  allSaved,
  closeShared,
  newPhone,
  openPaired,
  openPlant,
  press,
  recorded,
  sayHere,
  servePage,
  typeId,
} from './phone.js';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/** CSS pixels. WCAG 2.2 asks for 24 (2.5.8, AA) and 44 (2.5.5, AAA); gloves want a little more. */
const LEAST_TARGET_PX = 48;

const PLACE = { stock: 'a4', sheet: 'x.pdf', page: 1, row: 1, column: 1 };

afterAll(closeShared);

async function expectAccessible(page: Page, screen: string): Promise<void> {
  await page.evaluate(AXE);
  const { violations, passes } = (await page.evaluate(
    `axe.run(document, { runOnly: ${JSON.stringify(RULES)} })`,
  )) as AxeResults;
  expect(
    violations.map(({ id, nodes }) => `${screen}: ${id} ${nodes.map(({ html }) => html).join(' ')}`),
  ).toEqual([]);
  expect(passes.length).toBeGreaterThan(10);
  expect(await page.evaluate('document.documentElement.scrollWidth'), screen).toBeLessThanOrEqual(360);
  const targets = await page.locator('button, summary, input:not([type=file]), textarea, .file').all();
  for (const target of targets) {
    const box = await target.boundingBox();
    if (box === null) continue; // Not shown.
    const name = `${screen}: ${await target.evaluate('(element) => element.outerHTML')}`.slice(0, 160);
    expect(Math.round(box.height), name).toBeGreaterThanOrEqual(LEAST_TARGET_PX);
    expect(Math.round(box.width), name).toBeGreaterThanOrEqual(LEAST_TARGET_PX);
  }
}

describe('every screen', () => {
  it('of finding, seeing and logging is accessible', async () => {
    const served = await servePage();
    const [id = ''] = served.ids;
    const context = await newPhone();
    const pairing = await context.newPage();
    await pairing.goto(served.server.urls[0] ?? '');
    await pairing.getByRole('heading', { name: 'Pair this phone' }).waitFor();
    await expectAccessible(pairing, 'pair');
    await pairing.close();

    const page = await openPaired(context, served);
    await expectAccessible(page, 'find');
    await openPlant(page, id);
    await press(page, 'Ripe');
    await page.getByText(`Saved: ${id} fruit ripe`).waitFor();
    await page
      .getByRole('listitem')
      .filter({ hasText: 'fruit ripe' })
      .getByRole('button', { name: 'Undo' })
      .click();
    await page.getByText('On which wood').click();
    await expectAccessible(page, 'plant');
    for (const [button, heading] of [
      ['Cut open …', `${id} cut open`],
      ['Tasted …', `${id} tasted`],
      ['Note …', `${id}: note`],
      ['Not alive …', `Is ${id} dead or culled?`],
    ] as const) {
      await press(page, button);
      await page.getByRole('heading', { name: heading }).waitFor();
      await expectAccessible(page, heading);
      await press(page, 'Back');
    }
  });

  it('for what is not simply a current tag is accessible, and says what it is', async () => {
    const served = await servePage();
    const [id = ''] = served.ids;
    await served.ledger.write('wren', async (writer) => {
      for (const issue of [1, 2, 3]) {
        await writer.append({ kind: 'tag-issued', body: { id: id as never, issue, ...PLACE } });
      }
      await writer.append({ kind: 'tag-voided', body: { id: id as never, issue: 3, why: 'lost' } });
    });
    const page = await openPaired(await newPhone(), served);
    const screens: readonly (readonly [text: string, heading: string, wayOut: string])[] = [
      [`${id}.1`, 'An older tag', `It is ${id}: go on`],
      [`${id}.3`, 'A tag given up', `It is ${id}: go on`],
      [`${id}.9`, 'Never printed', `It is ${id}: go on`],
      ['K7FY5', 'No such plant', 'Scan again'],
      [`${id.slice(0, 3)}??`, 'Which plant is it?', 'None of these: back'],
      ['????5', 'Not a sound ID', 'Scan again'],
      [`${id}7`, 'Not a tag', 'Scan again'],
      ['https://shop.example/item?colour=red', 'Not a tag', 'Scan again'],
    ];
    for (const [text, heading, wayOut] of screens) {
      await typeId(page, text);
      await page.getByRole('heading', { name: heading }).waitFor();
      await expectAccessible(page, `${heading} (${text})`);
      await press(page, wayOut);
      if (wayOut.startsWith('It is')) {
        await page.getByRole('heading', { name: id }).waitFor();
        await press(page, 'Back');
      }
      await page.getByRole('heading', { name: 'Which plant?' }).waitFor();
    }
    const buffer = await photoOnBench(await sampleQrTag(`${id}.1`), await sampleQrTag('K7FY5.1'));
    const photo = { name: 'bench.png', mimeType: 'image/png', buffer };
    await page.getByLabel('Photo of the tag').setInputFiles(photo);
    await page.getByRole('heading', { name: 'Which of these?' }).waitFor();
    await expectAccessible(page, 'choose');
  });

  it('for a damaged tag is accessible, with the picture that shows why', async () => {
    const served = await servePage();
    const page = await openPaired(await newPhone(), served);
    const buffer = await sharp({ create: { width: 640, height: 320, channels: 3, background: 'olive' } })
      .jpeg()
      .toBuffer();
    const plant = { id: served.ids[0] ?? '', key: '23-001', kind: 'seedling', cross: null, origin: null };
    const scan: ScanView = {
      ...{ text: '?????', status: 'unreadable', id: null, issue: null, plant: null, todo: null },
      candidates: [
        {
          plant: { ...plant, sown: null, station: 'bench 1 / row 1 / 1', ended: null },
          because: '99 % likely',
        },
      ],
      how: {
        by: 'ledger',
        probability: 0.99,
        why: {
          picture: `data:image/jpeg;base64,${buffer.toString('base64')}`,
          caption: 'Above the bars as the camera sees them, squared up.',
        },
      },
    };
    await page.route('**/api/scan', (route) => route.fulfill({ json: { scans: [scan] } }));
    await page
      .getByLabel('Photo of the tag')
      .setInputFiles({ name: 'tag.jpg', mimeType: 'image/jpeg', buffer });
    await page.getByText('Show why').click();
    await page.getByRole('img', { name: 'The place that was looked at, squared up' }).waitFor();
    await expectAccessible(page, 'a damaged tag');
  });

  it('of rounds, of what waits and about the page is accessible', async () => {
    const served = await servePage();
    const [id = ''] = served.ids;
    const context = await newPhone();
    const page = await openPaired(context, served);
    await press(page, 'About');
    await page.getByRole('heading', { name: 'Care' }).waitFor();
    await expectAccessible(page, 'about');
    await press(page, 'Back');
    await press(page, 'A walk …');
    await page.getByRole('heading', { name: 'A walk along the benches' }).waitFor();
    await expectAccessible(page, 'walk, before');
    await press(page, 'Next: bench 1 / row 1 / 1');
    await sayHere(page, id);
    await page.getByLabel('Height of the plant, cm').waitFor();
    await expectAccessible(page, 'walk');
    await press(page, 'Back');
    await press(page, 'Many alike …');
    await page.getByText('Each plant that you scan').waitFor();
    await expectAccessible(page, 'round, before');
    await press(page, 'Fruit set');
    await typeId(page, id);
    await press(page, `Undo ${id}`);
    await typeId(page, id);
    await page.getByText('1 in this round').waitFor();
    await expectAccessible(page, 'round');
    await press(page, 'Back');
    await allSaved(page);
    await press(page, 'All saved');
    await expectAccessible(page, 'nothing waits');
    await press(page, 'Back');
    const issue = (number: number) =>
      served.ledger.write('wren', (writer) =>
        writer.append({ kind: 'tag-issued', body: { id: id as never, issue: number, ...PLACE } }),
      );
    await issue(1);
    await typeId(page, `${id}.1`);
    await page.getByRole('heading', { name: id }).waitFor();
    await context.setOffline(true);
    await press(page, 'Ripe');
    await page.getByText('Kept on this phone').waitFor();
    await issue(2); // So that the server will not have what waits.
    await context.setOffline(false);
    await page.getByRole('button', { name: '1 needs you' }).waitFor();
    await context.setOffline(true);
    await press(page, 'Dropped');
    await page.getByRole('button', { name: '1 needs you' }).click();
    await page.getByRole('heading', { name: 'To be sent, in this order' }).waitFor();
    await expectAccessible(page, 'waiting');
  });
});

describe('the keyboard alone', () => {
  /** Presses Tab until the focus is on a control of that name. */
  async function tabTo(page: Page, name: string): Promise<void> {
    const seen: string[] = [];
    for (let step = 0; step < 60; step++) {
      await page.keyboard.press('Tab');
      const focused = String(
        await page.evaluate(
          `(() => { const f = document.activeElement; return f.labels?.[0]?.textContent ?? f.textContent ?? ''; })()`,
        ),
      ).trim();
      if (focused === name) return;
      seen.push(focused);
    }
    throw new Error(`no ${name} among ${seen.join(' | ')}`);
  }

  it('pairs, finds, logs, tastes, takes back', async () => {
    const served = await servePage();
    const [id = ''] = served.ids;
    const context = await newPhone();
    const page = await context.newPage();
    await page.goto(`${served.server.urls[0]}#pair=${served.desk.renew()}`);
    await page.getByRole('heading', { name: 'Pair this phone' }).waitFor();
    await tabTo(page, 'Your name, as it will stand beside what you record');
    await page.keyboard.type('Wren');
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'Which plant?' }).waitFor();
    await tabTo(page, 'ID on the tag, ? for each character you cannot read');
    await page.keyboard.type(id.toLowerCase());
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: id }).waitFor();
    // The screen begins with its title, so that a screen reader says it and Tab goes on from there.
    expect(await page.evaluate('document.activeElement.tagName')).toBe('H1');
    await tabTo(page, 'Dropped');
    await page.keyboard.press('Enter');
    await page.getByText(`Saved: ${id} fruit dropped`).waitFor();
    await page.keyboard.press('Shift+Tab');
    await page.keyboard.press('Shift+Tab');
    await page.keyboard.press('Shift+Tab');
    expect(await page.evaluate('document.activeElement.textContent')).toBe('Undo');
    await page.keyboard.press('Enter');
    await page.getByText(`Taken back: ${id} fruit dropped`).waitFor();
    await tabTo(page, 'Tasted …');
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: `${id} tasted` }).waitFor();
    await page.keyboard.press('Tab');
    await page.keyboard.press('Space'); // 1, and the arrows go on from there.
    for (let liking = 2; liking <= 7; liking++) await page.keyboard.press('ArrowRight');
    await tabTo(page, 'Sugar, °Bx');
    await page.keyboard.type('17');
    await tabTo(page, 'berry');
    await page.keyboard.press('Space');
    await tabTo(page, 'Save');
    await page.keyboard.press('Enter');
    await page
      .getByText(`Saved: ${id} brix 17 °Bx, liking 7, flavour berry`)
      .or(page.getByText(`Saved: ${id} liking 7, brix 17 °Bx, flavour berry`))
      .waitFor();
    expect((await recorded(served)).map(({ values }) => values)).toEqual([
      { liking: 7, brix: 17, flavour: 'berry' },
    ]);
  });
});

/** A photo of a tag that is not surely read, on the page: it is asked whose it is, and nothing is taken before. */
import { readFileSync } from 'node:fs';
import type { Page } from 'playwright-core';
import sharp from 'sharp';
import { afterAll, expect, it, onTestFinished } from 'vitest';
import { tagsOf } from '../../src/scan/reading/tags-since.js';
import type { DamagedTag } from '../../src/scan/tag-reader.js';
import { readWalk } from '../../src/walk/rows.js';
import { builtReader } from '../../src/web/assets.js';
import { ReaderThread } from '../../src/web/reader-thread.js';
import { printTags, type WeatherTag } from '../bench/weather-tags.js';
import { encodePhoto, lone, NO_DAMAGE, photograph } from '../support/camera.js';
import { withoutSymbol } from '../support/without-symbol.js';
import { closeShared, newPhone, openPaired, openPlant, PLANTS, press, recorded, servePage } from './phone.js';
import type { Served } from './served.js';

afterAll(closeShared);

const PLACE = { stock: 'a4-21-64x38', sheet: 'x.pdf', page: 1, row: 1, column: 1 };

/** Two plants, each with its tag; and what the server's reader says of any photo. */
async function garden(says: (served: Served) => Promise<readonly DamagedTag[]>): Promise<Served> {
  let damaged: readonly DamagedTag[] = [];
  const read = async () => ({ texts: [], damaged });
  const served = await servePage(PLANTS, { photos: { read, readFrames: read, check: async () => {} } });
  await served.ledger.write('wren', async (writer) => {
    for (const id of served.ids)
      await writer.append({ kind: 'tag-issued', body: { id, issue: 1, ...PLACE } });
  });
  damaged = await says(served);
  return served;
}

/** A photo of a plant's tag, its code scraped off: the printed ID alone is left, which is never taken unasked. */
async function scrapedTag(id: string): Promise<Buffer> {
  const [tag] = (await printTags(PLACE.stock, 1, [id])) as [WeatherTag];
  const { face, facePxPerMm } = withoutSymbol(tag);
  const damage = { ...NO_DAMAGE, pxPerMm: 6, tiltDeg: 15, rotationDeg: 10 };
  return Buffer.from(await encodePhoto(photograph(lone(face, facePxPerMm), damage, 3), 'jpeg'));
}

/** A picture in which the phone itself reads nothing. */
const plain = (background: string, width = 600, height = 400) =>
  sharp({ create: { width, height, channels: 3, background } })
    .jpeg()
    .toBuffer();

async function damagedTag(text: string, probability: number, width: number): Promise<DamagedTag> {
  const caption = `Left the tag ${text}, right what it was read as.`;
  return {
    part: 'symbol',
    suspects: [{ text, probability }],
    shown: { picture: await plain('teal', width, 100), caption },
  };
}

const photographed = (page: Page, buffer: Buffer) =>
  page.getByLabel(/^Photo of/).setInputFiles({ name: 'tag.jpg', mimeType: 'image/jpeg', buffer });

const asksWhose = (page: Page) => page.getByRole('heading', { name: 'Which plant is it?' }).waitFor();

/** Opens the picture, which has to be one, and returns its width. */
async function openWhy(page: Page, caption: string): Promise<number> {
  await page.getByText('Show why').click();
  await page.getByText(caption).waitFor();
  await page.getByRole('img', { name: 'The place that was looked at, squared up' }).waitFor();
  return page.evaluate<number>(
    `(image => image.decode().then(() => image.naturalWidth))(document.querySelector('.how img'))`,
  );
}

it('its plant is offered with the picture that shows why, and a tap records under that plant', async () => {
  let photo: Buffer | undefined;
  const served = await garden(async ({ ledger, ids }) => {
    photo = await scrapedTag(ids[1] ?? '');
    const thread = new ReaderThread(builtReader(), tagsOf(ledger), 5);
    onTestFinished(() => thread.close());
    // Before the page waits for it, since it takes seconds.
    return (await thread.read(photo)).damaged;
  });
  const [, id = ''] = served.ids;
  const page = await openPaired(await newPhone(), served);
  await photographed(page, photo as Buffer);
  await asksWhose(page);
  const candidates = page.getByRole('button', { name: /likely by/ });
  expect(await candidates.count()).toBe(1);
  expect(await candidates.textContent()).toMatch(
    new RegExp(`^${id}.*bench 1 / row 1 / 2.*99 % likely by the printed ID alone$`),
  );
  expect(await openWhy(page, 'Left the printed ID as the camera sees it')).toBe(640);
  await candidates.click();
  await page.getByRole('heading', { name: id }).waitFor();
  await press(page, 'Ripe');
  await page.getByText(`Saved: ${id} fruit ripe`).waitFor();
  // A person said so: no tag's issue is claimed.
  expect(await recorded(served)).toMatchObject([{ id, issue: null, values: { fruit: 'ripe' } }]);
}, 300_000);

it('on a walk it is asked too, and what a person says is noted, not the question marks', async () => {
  const served = await garden(async ({ ids: [, id] }) => [await damagedTag(`${id}.1`, 0.999, 300)]);
  const [, id = ''] = served.ids;
  const page = await openPaired(await newPhone(), served);
  const photo = await plain('olive');
  await press(page, 'A walk …');
  await photographed(page, photo);
  await page.getByText('Say first at which station you stand.').waitFor();
  await press(page, 'Next: bench 1 / row 1 / 1');
  await photographed(page, photo);
  await asksWhose(page);
  expect(await openWhy(page, `Left the tag ${id}.1`)).toBe(300);
  await press(page, 'None of these: back');
  await page.getByText('What stands here?').waitFor();
  await photographed(page, photo);
  await asksWhose(page);
  await page.reload();
  await page.getByRole('button', { name: /likely by/ }).click();
  await page.getByRole('heading', { name: 'bench 1 / row 1 / 1' }).waitFor();
  await page.getByText(id, { exact: true }).waitFor();
  // The question does not come back by the phone's buttons, least of all at another station.
  await page.goForward();
  await page.getByText(id, { exact: true }).waitFor();
  await press(page, 'Next: bench 1 / row 1 / 2');
  await page.getByText('What stands here?').waitFor();
  await page.goBack();
  await press(page, 'No tag');
  await press(page, 'End and send');
  await expect.poll(() => served.walks.length).toBe(1);
  const rows = readWalk(readFileSync(served.walks[0] ?? ''), 'walk.csv');
  expect(rows.map(({ station, scanned }) => [station, scanned])).toEqual([
    ['bench 1 / row 1 / 1', id],
    ['bench 1 / row 1 / 2', 'none'],
  ]);
});

it('where one tag of a photo is read and another offered, the page shows why of either', async () => {
  const served = await garden(async ({ ids: [read, offered] }) => [
    await damagedTag(`${read}.1`, 0.99995, 300),
    await damagedTag(`${offered}.1`, 0.95, 400),
  ]);
  const [first = '', second = ''] = served.ids;
  const page = await openPaired(await newPhone(), served);
  const photo = await plain('olive');
  await photographed(page, photo);
  await page.getByRole('heading', { name: 'Which of these?' }).waitFor();
  await page.getByRole('button', { name: /Which plant is it\?/ }).click();
  await asksWhose(page);
  expect(await openWhy(page, `Left the tag ${second}.1`)).toBe(400);
  await page.getByRole('button', { name: new RegExp(`${second}.*95 % likely`) }).click();
  await page.getByRole('heading', { name: second }).waitFor();
  await press(page, 'Back');
  await photographed(page, photo);
  await page.getByRole('button', { name: new RegExp(`^${first}`) }).click();
  await page.getByRole('heading', { name: first }).waitFor();
  expect(await openWhy(page, `Left the tag ${first}.1`)).toBe(300);
});

/** Holds back what the server says of photos, until it is let go. */
async function slowReading(page: Page) {
  let [isAsked, answer] = [false, () => {}];
  await page.route('**/api/scan', async (route) => {
    isAsked = true;
    await new Promise<void>((resolve) => {
      answer = resolve;
    });
    await route.continue();
  });
  return {
    asked: () => expect.poll(() => isAsked, { timeout: 30_000 }).toBe(true),
    async answered() {
      const response = page.waitForResponse('**/api/scan');
      answer();
      await (await response).finished();
    },
  };
}

it('a picture that is read only when the walk has gone on is left out', async () => {
  const served = await garden(async ({ ids: [id] }) => [await damagedTag(`${id}.1`, 0.99995, 300)]);
  const page = await openPaired(await newPhone(), served);
  const reading = await slowReading(page);
  await press(page, 'A walk …');
  await press(page, 'Next: bench 1 / row 1 / 1');
  await photographed(page, await plain('olive'));
  await reading.asked();
  await press(page, 'No tag');
  await press(page, 'Next: bench 1 / row 1 / 2');
  await reading.answered();
  await page.getByText('You went on before this picture was read: it is left out.').waitFor();
  await page.getByText('What stands here?').waitFor();
});

it('a photo that is read only when another plant is on the screen does not put its own there', async () => {
  const served = await garden(async ({ ids: [id] }) => [await damagedTag(`${id}.1`, 0.99995, 300)]);
  const [, other = ''] = served.ids;
  const page = await openPaired(await newPhone(), served);
  const reading = await slowReading(page);
  await photographed(page, await plain('olive'));
  await reading.asked();
  await openPlant(page, other);
  await reading.answered();
  await new Promise((resolve) => setTimeout(resolve, 500)); // Time enough to put it there.
  await page.getByRole('heading', { name: other }).waitFor();
  await press(page, 'Ripe');
  await page.getByText(`Saved: ${other} fruit ripe`).waitFor();
  expect(await recorded(served)).toMatchObject([{ id: other, values: { fruit: 'ripe' } }]);
});

/** Photos of several tags on the phone page: what is one plant's goes on to the plant, of all else a person says which. */
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { PlantId } from '../../src/ids/plant-id.js';
import { freshFolder } from '../support/ledger.js';
import { photoOnBench, sampleCode128Tag, sampleQrTag } from '../support/sample-tag.js';
import { cameraShowing, writeFilm } from './fake-camera.js';
import { closeShared, newPhone, openPaired, press, recorded, servePage } from './phone.js';
import type { Served } from './served.js';

const [A, B] = ['PXSV9', 'DZK67'] as const;

afterAll(closeShared);

/** A page over a ledger in which `PXSV9` has tag 1, `DZK67` tag 1, superseded, and 2. */
async function opened(args: readonly string[] = []): Promise<{ served: Served; page: Page }> {
  const served = await servePage();
  expect(served.ids).toEqual([A, B]);
  await served.ledger.write('wren', async (writer) => {
    for (const [id, issue] of [
      [A, 1],
      [B, 1],
      [B, 2],
    ] as const) {
      const place = { stock: 'x', sheet: 'x.pdf', page: 1, row: 1, column: issue };
      await writer.append({ kind: 'tag-issued', body: { id: id as string as PlantId, issue, ...place } });
    }
  });
  return { served, page: await openPaired(await newPhone(args), served) };
}

const take = (page: Page, buffer: Buffer) =>
  page.getByLabel('Photo of the tag').setInputFiles({ name: 'bench.png', mimeType: 'image/png', buffer });

let twoPlants: Buffer;
let stranger: Buffer;
let besideBarcode: Buffer;

beforeAll(async () => {
  const tag = await sampleQrTag(`${A}.1`);
  twoPlants = await photoOnBench(tag, await sampleQrTag(`${B}.1`));
  stranger = await photoOnBench(tag, await sampleQrTag('K7FY5.1'));
  besideBarcode = await photoOnBench(tag, await sampleCode128Tag('LOT 4711'));
});

describe('a photo of a current tag', () => {
  it('beside another plant’s older one: the person says which it is', async () => {
    const { page } = await opened();
    await take(page, twoPlants);
    await page.getByRole('heading', { name: 'Which of these?' }).waitFor();
    await page.getByText('The photo shows tags of several plants.').waitFor();
    await page.getByRole('button', { name: A }).click();
    await page.getByRole('heading', { name: A }).waitFor();
  });

  it('beside another garden’s: the person says which it is', async () => {
    const { page } = await opened();
    await take(page, stranger);
    await page.getByText('The photo shows another tag, whose plant is not certain.').waitFor();
    await page.getByRole('button', { name: 'K7FY5.1' }).click();
    await page.getByRole('heading', { name: 'No such plant' }).waitFor();
  });

  it('beside a supplier’s barcode: opens its plant', async () => {
    const { page } = await opened();
    await take(page, besideBarcode);
    await page.getByRole('heading', { name: A }).waitFor();
  });

  it('in a round: records at once what is one plant’s, and nothing of what is not', async () => {
    const { page, served } = await opened();
    await press(page, 'Many alike …');
    await press(page, 'Fruit set');
    await take(page, twoPlants);
    await press(page, 'None of these');
    await page.getByText('Scan the first plant.').waitFor();
    expect(await recorded(served)).toEqual([]);
    await take(page, besideBarcode);
    await page.getByText('1 in this round').waitFor();
    await page.getByRole('button', { name: 'All saved' }).waitFor();
    expect(await recorded(served)).toMatchObject([{ id: A, issue: 1, values: { fruit: 'set' } }]);
  });
});

/** What the server answers of a tag, whose plant it reads or asks about. */
const answer = (id: string, isRead: boolean) => {
  const plant = {
    id,
    key: id,
    kind: 'seedling',
    cross: null,
    origin: null,
    sown: null,
    station: null,
    ended: null,
  };
  const how = { by: 'ledger', probability: isRead ? 0.99995 : 0.95, why: null };
  return isRead
    ? { text: `${id}.1`, status: 'current', id, issue: 1, plant, candidates: [], todo: null, how }
    : {
        ...{ text: '?????', status: 'unreadable', id: null, issue: null, plant: null },
        ...{ candidates: [{ plant, because: '95 % likely' }], todo: null, how },
      };
};

it('a damaged tag that was asked about before still counts, when another is read beside it', async () => {
  const film = join(freshFolder(), 'bench.y4m');
  const ground = { create: { width: 640, height: 480, channels: 3, background: '#777' } } as const;
  await writeFilm(film, [await sharp(ground).png().toBuffer()]);
  const { page } = await opened(cameraShowing(film));
  const answers = [[answer(B, false)], [answer(A, true), answer(B, false)]];
  await page.route('**/api/frames', (route) => route.fulfill({ json: { scans: answers.shift() ?? [] } }));
  await press(page, 'Scan with the camera');
  await page.getByRole('heading', { name: 'Which plant is it?' }).waitFor();
  await press(page, 'None of these: back');
  await page.getByRole('heading', { name: 'Which of these?' }).waitFor();
  await page.getByText('another tag, whose plant is not certain').waitFor();
});

/**
 * The page in a real browser: pair, find, log, lose the network, come back; nothing lost, nothing double.
 */
import { readdirSync, readFileSync } from 'node:fs';
import sharp from 'sharp';
import { afterAll, describe, expect, it, vi } from 'vitest';
import { checkLedger } from '../../src/ledger/check.js';
import { openLedger } from '../../src/ledger/sqlite-ledger.js';
import { readWalk } from '../../src/walk/rows.js';
import { certificateFor } from '../../src/web/certificate.js';
import { forgetDevices } from '../../src/web/devices.js';
import { NOON } from '../support/ledger.js';
import { makeBench } from '../support/pottag.js';
import { cameraPicture, cameraShowing, muddyPictures, printedTag, writeFilm } from './fake-camera.js';
import {
  allSaved,
  closeShared,
  failOnComplaints,
  knowsPlants,
  newPhone,
  openPaired,
  openPlant,
  PAGE,
  phoneInFolder,
  press,
  realToday,
  recorded,
  sayHere,
  servePage,
  startsWithoutReception,
  typeId,
} from './phone.js';
import { serveLedger } from './served.js';

afterAll(closeShared);

describe('the first load', () => {
  it('is under 50 KB without the decoder and under 1.5 MB with it, compressed, and all from the server', async () => {
    const assets = [...PAGE];
    const sizeOf = (some: typeof assets) => some.reduce((sum, [, { gzipped }]) => sum + gzipped.length, 0);
    const isDecoder = ([path]: (typeof assets)[number]) => /decoder|\.wasm$/.test(path);
    expect(assets.filter(isDecoder).length).toBe(2);
    expect(sizeOf(assets.filter((asset) => !isDecoder(asset)))).toBeLessThan(50 * 1024);
    expect(sizeOf(assets)).toBeLessThan(1.5 * 1024 * 1024);

    const served = await servePage();
    const context = await newPhone();
    const asked: string[] = [];
    context.on('request', (request) => asked.push(request.url()));
    const page = await context.newPage();
    failOnComplaints(page);
    await page.goto(served.server.urls[0] ?? '');
    await page.getByRole('heading', { name: 'Pair this phone' }).waitFor();
    expect(asked.length).toBeGreaterThan(2);
    for (const url of asked) expect(url.startsWith(served.server.urls[0] ?? ''), url).toBe(true);
  });
});

/** A ledger with a printed tag, served; and a browser whose camera is held before that tag. */
async function beforeTheTag(shownAs = async (picture: Buffer) => [picture]) {
  const bench = makeBench();
  bench.write(
    'plants.csv',
    'key,seed_parent,pollen_parent,sown,station\n23-001,Quillon Dusk,Stannick,2023-02-11,bench 1 / 1\n23-002,,,,\n',
  );
  bench.expect(0, ['enrol', 'plants.csv']);
  const { text, face } = await printedTag(bench, 'PXSV9');
  const picture = await cameraPicture(face);
  const bare = await sharp(picture).linear(0, 110).png().toBuffer();
  const film = bench.file('bench.y4m');
  await writeFilm(film, [bare, ...(await shownAs(picture))]);
  const ledger = openLedger(bench.file('pottag-ledger'), NOON);
  const served = await serveLedger(
    { ledger, ids: ['PXSV9', 'DZK67'] as never },
    { assets: PAGE, today: realToday },
  );
  return { bench, served, ledger, text, picture, camera: cameraShowing(film) };
}

it('an observation under whose name something else is recorded waits for a person, and then is recorded too', async () => {
  const served = await servePage();
  const [id = ''] = served.ids;
  const page = await openPaired(await newPhone(), served);
  await openPlant(page, id);
  let asked = 0;
  await page.route('**/api/observations', async (route) => {
    asked++;
    if (asked === 1) {
      const sent = route.request().postDataJSON() as object;
      await route.fetch({ postData: JSON.stringify({ ...sent, values: { fruit: 'set' } }) });
    }
    await route.continue();
  });
  await press(page, 'Ripe');
  await page.getByRole('button', { name: '1 needs you' }).click();
  await page.getByText('Something else was recorded already').waitFor();
  expect(asked).toBe(1); // It is not sent over and over.
  await press(page, 'It was seen as well: record it');
  await page.getByRole('heading', { name: 'All is saved' }).waitFor();
  expect((await recorded(served)).map(({ values }) => values)).toEqual([{ fruit: 'set' }, { fruit: 'ripe' }]);
});

describe('a tag that no decoder reads', { retry: 1 }, () => {
  it('is read from several pictures of the live camera, and the page says from what and how surely', async () => {
    const { served, camera } = await beforeTheTag((picture) => muddyPictures(picture, 4));
    const page = await openPaired(await newPhone(camera), served);
    await press(page, 'Scan with the camera');
    await page.getByText('Looking at what is left of it').waitFor();
    await page.getByRole('heading', { name: 'PXSV9' }).waitFor();
    await page.getByText(/Read from what is left of its damaged tag: .* sure to 99\.99 %/).waitFor();
    await page.getByText('Quillon Dusk × Stannick').waitFor();
    await page.getByText('Show why').click();
    await page.getByRole('img', { name: 'The place that was looked at, squared up' }).waitFor();
    const width = `(image => image.decode().then(() => image.naturalWidth))(document.querySelector('.how img'))`;
    expect(await page.evaluate(width)).toBe(640);
    await press(page, 'Ripe');
    await page.getByText('Saved: PXSV9 fruit ripe').waitFor();
    expect(await recorded(served)).toMatchObject([{ id: 'PXSV9', issue: 1, values: { fruit: 'ripe' } }]);
    // It is before the camera still, and does not open its plant again.
    await press(page, 'Back');
    const again = page.waitForResponse(/api\/frames/);
    await again;
    await page.getByRole('heading', { name: 'Which plant?' }).waitFor();
  });
});

// A camera, a browser and a network that comes and goes: a machine with too much to do can miss a moment.
describe('the whole way', { retry: 1 }, () => {
  it('pair, scan with the camera, log, no network, log again, reload, network: nothing lost, nothing double', async () => {
    const { served, ledger, camera, text } = await beforeTheTag();
    const context = await newPhone(camera);
    const page = await openPaired(context, served);
    await press(page, 'Scan with the camera');
    await page.getByRole('heading', { name: 'PXSV9' }).waitFor();
    await page.getByText('Quillon Dusk × Stannick').waitFor();
    await press(page, 'Fruit set');
    await page.getByText('Saved: PXSV9 fruit set').waitFor();
    await startsWithoutReception(page);

    await context.setOffline(true);
    await press(page, 'Ripe');
    await page.getByText('Kept on this phone: PXSV9 fruit ripe').waitFor();
    await press(page, 'Back');
    // The tag is before the camera still; that does not open its plant again.
    await page.getByRole('button', { name: 'Stop the camera' }).waitFor();
    await new Promise((resolve) => setTimeout(resolve, 1500));
    await page.getByRole('heading', { name: 'Which plant?' }).waitFor();
    await openPlant(page, text); // Found without the server.
    await press(page, 'Tasted …');
    await page.getByRole('radio', { name: '8' }).check();
    await page.getByLabel('Sugar').fill('18,5');
    await press(page, 'honey');
    await press(page, 'Save');
    await page.getByRole('button', { name: '2 waiting' }).waitFor();

    await page.reload();
    await page.getByRole('button', { name: '2 waiting' }).waitFor();
    await press(page, 'Dropped');
    await page.getByRole('button', { name: '3 waiting' }).click();
    await page.getByRole('listitem').nth(2).waitFor();
    expect(await page.getByRole('listitem').allTextContents()).toEqual([
      `PXSV9, ${realToday()}: fruit ripe`,
      `PXSV9, ${realToday()}: liking 8, brix 18,5 °Bx, flavour honey`,
      `PXSV9, ${realToday()}: fruit dropped`,
    ]);
    expect((await recorded(served)).length).toBe(1);

    await context.setOffline(false);
    await allSaved(page);
    expect((await recorded(served)).map(({ id, values, by, issue }) => ({ id, values, by, issue }))).toEqual([
      { id: 'PXSV9', values: { fruit: 'set' }, by: 'Wren', issue: 1 },
      { id: 'PXSV9', values: { fruit: 'ripe' }, by: 'Wren', issue: 1 },
      { id: 'PXSV9', values: { liking: 8, brix: 18.5, flavour: 'honey' }, by: 'Wren', issue: 1 },
      { id: 'PXSV9', values: { fruit: 'dropped' }, by: 'Wren', issue: 1 },
    ]);
    expect(checkLedger(ledger.folder, () => {}).findings).toEqual([]);
  });

  it('over plain http from another machine: no live camera, a photo instead', async () => {
    const { bench, served, picture } = await beforeTheTag();
    bench.write('photo.png', picture);
    // A name that is not loopback's: browsers then give neither camera nor service worker.
    const name = served.server.urls[1]?.replace('localhost', 'bench.test') ?? '';
    const context = await newPhone([`--host-resolver-rules=MAP bench.test 127.0.0.1`]);
    const page = await context.newPage();
    await page.goto(name);
    expect(await page.textContent('body')).toMatch(/This server is not bench\.test/);

    const { ledger, ids } = served;
    const named = await serveLedger(
      { ledger, ids },
      { assets: PAGE, today: realToday, names: ['bench.test'] },
    );
    const own = await openPaired(context, named, 'Wren', 2);
    expect(own.url()).toMatch(/^http:\/\/bench\.test:/);
    expect(await own.getByRole('button', { name: 'Scan with the camera' }).count()).toBe(0);
    await own.getByLabel('Photo of the tag').setInputFiles(bench.file('photo.png'));
    await own.getByRole('heading', { name: 'PXSV9' }).waitFor();
    await press(own, 'Ripe');
    await own.getByText('Saved: PXSV9 fruit ripe').waitFor();
    expect(await recorded(served)).toMatchObject([{ id: 'PXSV9', issue: 1, values: { fruit: 'ripe' } }]);
  });
});

describe('over https, with the certificate made by serve', () => {
  it('another machine has the live camera, once its browser was told to go on', async () => {
    const { camera, served: plain } = await beforeTheTag();
    const { ledger, ids } = plain;
    const names = ['127.0.0.1', 'localhost', 'bench.test'];
    const certificate = await certificateFor(ledger.folder, names, new Date());
    const served = await serveLedger(
      { ledger, ids },
      { assets: PAGE, today: realToday, names: ['bench.test'], certificate },
    );
    const args = [...camera, '--host-resolver-rules=MAP bench.test 127.0.0.1'];
    const warned = await (await newPhone(args)).newPage();
    await expect(warned.goto(served.server.urls[2] ?? '')).rejects.toThrow(/CERT/);
    const context = await newPhone(args, { ignoreHTTPSErrors: true });
    const page = await openPaired(context, served, 'Wren', 2);
    expect(page.url()).toMatch(/^https:\/\/bench\.test:/);
    const [cookie] = await context.cookies();
    expect(cookie).toMatchObject({ secure: true, httpOnly: true, sameSite: 'Strict' });
    await press(page, 'Scan with the camera');
    await page.getByRole('heading', { name: 'PXSV9' }).waitFor();
    await press(page, 'Ripe');
    await page.getByText('Saved: PXSV9 fruit ripe').waitFor();
  });
});

describe('without reception', () => {
  it('what waits survives the browser being ended, and the server being ended and started again', async () => {
    const served = await servePage();
    const [id = ''] = served.ids;
    const phone = await phoneInFolder();
    const context = await phone.start();
    const page = await openPaired(context, served);
    await startsWithoutReception(page);
    await openPlant(page, id);
    const { port } = served.server;
    await served.server.close();
    await press(page, 'Fruit set');
    await press(page, 'Note …');
    await page.getByLabel('Note', { exact: true }).fill('by the door');
    await page.getByLabel('Form of its leaves').fill('three-lobed');
    await page.getByLabel('Colour of the pulp').fill('dark red');
    const photo = await sharp({ create: { width: 900, height: 700, channels: 3, background: 'purple' } })
      .jpeg()
      .toBuffer();
    await page
      .getByLabel('Add a photo')
      .setInputFiles({ name: 'fruit.jpg', mimeType: 'image/jpeg', buffer: photo });
    await page.getByAltText('To be kept').waitFor();
    await press(page, 'Save');
    await page.getByRole('button', { name: '2 waiting' }).waitFor();
    await context.close();

    const again = await phone.start();
    const page2 = await again.newPage();
    await page2.goto(served.server.urls[0] ?? ''); // By the service worker: there is no server.
    await page2.getByRole('button', { name: '2 waiting' }).click();
    const tryNow = page2.getByRole('button', { name: 'Try now' });
    await tryNow.waitFor();
    await serveLedger(served, { assets: PAGE, today: realToday, port });
    // The page tries by itself too, and may be quicker than the thumb.
    await Promise.race([tryNow.click(), allSaved(page2)]);
    await allSaved(page2);
    const found = await recorded(served);
    expect(found.map(({ values }) => values)).toEqual([
      { fruit: 'set' },
      { note: 'by the door', leaf: 'three-lobed', 'pulp-colour': 'dark red' },
    ]);
    expect(found[1]?.photo?.file).toMatch(/\.jpg$/);
    expect(readdirSync(`${served.ledger.folder}/photos`)).toEqual([found[1]?.photo?.file]);
    expect(checkLedger(served.ledger.folder, () => {}).findings).toEqual([]);
  });

  it('an answer that is lost on the way makes nothing double, and the order is kept', async () => {
    const served = await servePage();
    const [id = ''] = served.ids;
    const page = await openPaired(await newPhone(), served);
    await openPlant(page, id);
    let lost = 0;
    let isMended = false;
    await page.route('**/api/observations', async (route) => {
      if (isMended) return route.continue();
      await route.fetch(); // It arrives and is recorded,
      lost++;
      return route.abort(); // but the phone does not hear of it.
    });
    await press(page, 'Fruit set');
    await page.getByText('Kept on this phone').waitFor();
    await press(page, 'Ripe');
    await page.getByRole('button', { name: '2 waiting' }).waitFor();
    expect(lost).toBeGreaterThan(0);
    isMended = true;
    await allSaved(page);
    expect((await recorded(served)).map(({ values }) => values)).toEqual([
      { fruit: 'set' },
      { fruit: 'ripe' },
    ]);
  });

  it('a browser without IndexedDB keeps what waits in its local storage', async () => {
    const served = await servePage();
    const [id = ''] = served.ids;
    const context = await newPhone();
    await context.addInitScript(() => {
      Object.defineProperty(globalThis, 'indexedDB', { value: undefined });
    });
    const page = await openPaired(context, served);
    await openPlant(page, id);
    await page.route('**/api/observations', (route) => route.abort());
    await press(page, 'Fruit set');
    await press(page, 'Ripe');
    await page.getByRole('button', { name: '2 waiting' }).waitFor();
    await page.reload();
    await page.getByRole('button', { name: '2 waiting' }).waitFor();
    await page.unroute('**/api/observations');
    await allSaved(page);
    expect((await recorded(served)).map(({ values }) => values)).toEqual([
      { fruit: 'set' },
      { fruit: 'ripe' },
    ]);
  });

  it('a plant that this phone knows is resolved as the server would, with the same screens', async () => {
    const served = await servePage();
    const [id = ''] = served.ids;
    const context = await newPhone();
    const page = await openPaired(context, served);
    await knowsPlants(page, 2);
    await startsWithoutReception(page);
    await context.setOffline(true);
    await typeId(page, `?${id.slice(1, 4)}?`);
    await page.getByRole('heading', { name: 'Which plant is it?' }).waitFor();
    await page.getByRole('button', { name: new RegExp(`${id}.*bench 1 / row 1 / 1`) }).click();
    await page.getByRole('heading', { name: id }).waitFor();
    await press(page, 'Ripe');
    await page.getByText('Kept on this phone').waitFor();
    await context.setOffline(false);
    await allSaved(page);
    expect(await recorded(served)).toMatchObject([{ id, issue: null }]);
  });
});

it('what is added while the last is being sent is sent too, whenever the thumb comes', async () => {
  const served = await servePage();
  const [id = ''] = served.ids;
  const page = await openPaired(await newPhone(), served);
  await openPlant(page, id);
  await page.getByText('Nothing yet.').waitFor();
  // Two presses, ever further apart; then all has to be sent without a third.
  const pairs = 30;
  const stuckAt = await page.evaluate(`(async () => {
    const button = (text) => [...document.querySelectorAll('button')].find(({ textContent }) => textContent === text);
    const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
    for (let pair = 0; pair < ${pairs}; pair++) {
      button('Ripe').click();
      await pause(pair);
      button('Ripe').click();
      await pause(15);
      for (let waited = 0; button('All saved') === undefined; waited += 5) {
        if (waited > 3000) return pair;
        await pause(5);
      }
    }
    return null;
  })()`);
  expect(stuckAt).toBeNull();
  await vi.waitFor(async () => expect((await recorded(served)).length).toBe(2 * pairs), { timeout: 20_000 });
});

describe('two phones at once', () => {
  it('each sends its own, and both see all', async () => {
    const served = await servePage();
    const [id = ''] = served.ids;
    const wren = await openPaired(await newPhone(), served, 'Wren');
    const tansy = await openPaired(await newPhone(), served, 'Tansy');
    await Promise.all([openPlant(wren, id), openPlant(tansy, id)]);
    for (const name of ['Fruit set', 'Ripe', 'Dropped'])
      await Promise.all([press(wren, name), press(tansy, name)]);
    for (const page of [wren, tansy]) {
      await page.getByText(`Saved: ${id} fruit dropped`).waitFor();
      await allSaved(page);
    }
    const found = await recorded(served);
    for (const by of ['Wren', 'Tansy']) {
      const own = found.filter((one) => one.by === by).map(({ values }) => values.fruit);
      expect(own).toEqual(['set', 'ripe', 'dropped']);
    }
    await wren.reload();
    await wren.getByText('by Tansy').nth(2).waitFor();
  });
});

describe('undo', () => {
  it('of what was just logged withdraws it: it is gone from the plant and stays in the journal', async () => {
    const served = await servePage();
    const [id = ''] = served.ids;
    const page = await openPaired(await newPhone(), served);
    await openPlant(page, id);
    await press(page, 'Ripe');
    await page.getByText(`Saved: ${id} fruit ripe`).waitFor();
    await page.locator('.logged').getByRole('button', { name: 'Undo' }).click();
    await page.getByText(`Taken back: ${id} fruit ripe`).waitFor();
    await page.getByText('Nothing yet.').waitFor();
    await allSaved(page);
    expect(await recorded(served)).toEqual([]);
    expect(await served.ledger.withdrawnObservations(id as never)).toMatchObject([
      { values: { fruit: 'ripe' }, withdrawn: { by: 'Wren' } },
    ]);
  });

  it('of one that still waits is sent after it', async () => {
    const served = await servePage();
    const [id = ''] = served.ids;
    const context = await newPhone();
    const page = await openPaired(context, served);
    await openPlant(page, id);
    await context.setOffline(true);
    await press(page, 'Ripe');
    await page.getByText('Kept on this phone').waitFor();
    await page.locator('.logged').getByRole('button', { name: 'Undo' }).click();
    await page.getByRole('button', { name: '2 waiting' }).waitFor();
    await context.setOffline(false);
    await allSaved(page);
    expect(await recorded(served)).toEqual([]);
    expect((await served.ledger.withdrawnObservations(id as never)).length).toBe(1);
  });

  it('of an older observation is asked for twice', async () => {
    const served = await servePage();
    const [id = ''] = served.ids;
    const page = await openPaired(await newPhone(), served);
    await openPlant(page, id);
    await press(page, 'Ripe');
    await allSaved(page);
    await press(page, 'Back');
    await openPlant(page, id);
    const row = page.getByRole('listitem').filter({ hasText: 'fruit ripe' });
    await row.getByRole('button', { name: 'Undo' }).click();
    await row.getByRole('button', { name: 'Take it back: fruit ripe' }).click();
    await page.getByText('Nothing yet.').waitFor();
    await allSaved(page);
    expect(await recorded(served)).toEqual([]);
  });
});

describe('a round along the bench', () => {
  it('logs the same for each scan, once a plant, and takes back the last', async () => {
    const served = await servePage();
    const [first = '', second = ''] = served.ids;
    const page = await openPaired(await newPhone(), served);
    await press(page, 'Many alike …');
    await page.getByRole('radio', { name: 'new' }).check();
    await press(page, 'Dropped');
    for (const id of [first, second, second]) {
      await typeId(page, id);
      await page.getByText(`${id} `, { exact: false }).first().waitFor();
    }
    await page.getByText(`${second} is in this round already.`).waitFor();
    await press(page, `Undo ${second}`);
    await page.getByText(`${second} taken back.`).waitFor();
    // A damaged ID is never taken silently, in a round no more than elsewhere.
    await typeId(page, `${second.slice(0, 3)}??`);
    await page.getByRole('heading', { name: 'Which plant is it?' }).waitFor();
    await press(page, 'None of these: back');
    await page.getByRole('heading', { name: 'Each scan: fruit dropped, wood new' }).waitFor();
    await allSaved(page);
    expect(await recorded(served)).toMatchObject([{ id: first, values: { fruit: 'dropped', wood: 'new' } }]);
  });
});

describe('a walk along the benches', () => {
  it('is kept station by station, over a reload, and comes to the computer once, for pottag walk', async () => {
    const served = await servePage();
    const [first = '', second = ''] = served.ids;
    const context = await newPhone();
    const page = await openPaired(context, served);
    await knowsPlants(page, 2);
    await press(page, 'A walk …');
    await page.getByLabel('Station, as on its sign').waitFor();
    expect(await page.locator('#typed').getAttribute('placeholder')).toBe('bench 1 / row 1 / 1');
    await sayHere(page, first);
    await page.getByText('Say first at which station you stand.').waitFor();
    await sayHere(page, 'BENCH 1 / Row 1 / 1'); // Phones begin with capitals.
    await page.getByRole('heading', { name: 'bench 1 / row 1 / 1' }).waitFor();
    await sayHere(page, second); // It hangs on the wrong pot.
    await sayHere(page, first);
    await page.getByText('Something stands here already.').waitFor();
    await page.locator('#typed').fill('');
    await page.getByLabel('Height of the plant, cm').fill('64');
    await press(page, 'Add height');
    await page.getByLabel('Form of its leaves').fill('three: five / seven'); // Neither a trait nor a station.
    await press(page, 'Add leaf');
    await page.getByText(`${second}, height: 64, leaf: three: five / seven`).waitFor();
    await page.reload();
    await page.getByRole('heading', { name: 'bench 1 / row 1 / 1' }).waitFor();
    await press(page, 'Next: bench 1 / row 1 / 2');
    await press(page, 'No pot');
    await press(page, 'Undo: no pot');
    await press(page, 'No tag');
    await sayHere(page, 'station by the door');
    await page.getByRole('heading', { name: 'by the door' }).waitFor();
    await sayHere(page, `${first.slice(0, 3)}??`);
    await page
      .getByText(`${first.slice(0, 3)}??`)
      .first()
      .waitFor();
    await context.setOffline(true);
    await press(page, 'End and send');
    await page.getByRole('button', { name: '1 waiting' }).waitFor();
    await context.setOffline(false);
    await allSaved(page);
    expect(served.walks.length).toBe(1);
    const rows = readWalk(readFileSync(served.walks[0] ?? ''), 'walk.csv');
    expect(
      rows.map(({ station, scanned, traits }) => [station, scanned, Object.fromEntries(traits)]),
    ).toEqual([
      ['bench 1 / row 1 / 1', second, { height: 64, leaf: 'three: five / seven' }],
      ['bench 1 / row 1 / 2', 'none', {}],
      ['by the door', `${first.slice(0, 3)}??`, {}],
    ]);
    const { status, stdout } = makeBench().run([
      'walk',
      served.walks[0] ?? '',
      '--ledger',
      served.ledger.folder,
    ]);
    expect(status).toBe(1);
    expect(stdout).toMatch(/bench 1 \/ row 1 \/ 1/);
  });
});

describe('a phone that was forgotten', () => {
  it('keeps what waits, and sends it when it is paired again', async () => {
    const served = await servePage();
    const [id = ''] = served.ids;
    const context = await newPhone();
    const page = await openPaired(context, served);
    await openPlant(page, id);
    await context.setOffline(true);
    await press(page, 'Ripe');
    await page.getByText('Kept on this phone').waitFor();
    forgetDevices(served.ledger.folder, 'Wren');
    await context.setOffline(false);
    await page.getByText('does not know this phone any more').waitFor();
    const keepsPlants = () =>
      page.evaluate<boolean>(`new Promise((resolve) => {
        indexedDB.open('pottag').onsuccess = ({ target }) => {
          const values = target.result.transaction('values').objectStore('values');
          values.count('garden').onsuccess = (event) => resolve(event.target.result > 0);
        };
      })`);
    await expect.poll(keepsPlants).toBe(false);
    await page.getByText('1 kept on it').waitFor();
    expect(await recorded(served)).toEqual([]);
    await page.getByLabel('Code').fill(served.desk.renew());
    await press(page, 'Pair');
    await allSaved(page);
    expect(await recorded(served)).toMatchObject([{ id, values: { fruit: 'ripe' } }]);
  });
});

describe('what the server would not have', () => {
  it('waits for a person, holds nothing up, and has a way out', async () => {
    const served = await servePage();
    const [id = ''] = served.ids;
    const place = { stock: 'a4', sheet: 'x.pdf', page: 1, row: 1, column: 1 };
    const issue = (number: number) =>
      served.ledger.write('wren', (writer) =>
        writer.append({ kind: 'tag-issued', body: { id: id as never, issue: number, ...place } }),
      );
    await issue(1);
    const context = await newPhone();
    const page = await openPaired(context, served);
    await typeId(page, `${id}.1`);
    await page.getByRole('heading', { name: id }).waitFor();
    await context.setOffline(true);
    await press(page, 'Ripe');
    await page.getByText('Kept on this phone').waitFor();
    await issue(2); // Meanwhile the tag was printed anew.
    await press(page, 'Back');
    await context.setOffline(false);
    await page.getByRole('button', { name: '1 needs you' }).waitFor();
    await openPlant(page, served.ids[1] ?? '');
    await press(page, 'Dropped');
    await page.getByText(/Saved: .* fruit dropped/).waitFor();
    await page.getByRole('button', { name: '1 needs you' }).click();
    await page.getByText(/superseded/).waitFor();
    await press(page, `It was ${id}: record it`);
    await allSaved(page);
    expect((await recorded(served)).map((one) => [one.id, one.values, one.issue])).toEqual([
      [served.ids[1], { fruit: 'dropped' }, null],
      [id, { fruit: 'ripe' }, null],
    ]);
  });
});

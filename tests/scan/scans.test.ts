import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { InputError } from '../../src/errors.js';
import type { PlantId } from '../../src/ids/plant-id.js';
import { checkLedger } from '../../src/ledger/check.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { isOffered } from '../../src/scan/reading/read.js';
import { resolveRead, scanPhotos, scanTexts, type ToRecord } from '../../src/scan/scans.js';
import { freshFolder, ledgerWith, seedling } from '../support/ledger.js';
import { photoOnBench, type SampleTag, sampleCode128Tag, sampleQrTag } from '../support/sample-tag.js';

const [A, B] = ['PXSV9', 'DZK67'] as const;

/** Both plants with their first tags. */
async function garden(): Promise<Ledger> {
  const { ledger, ids } = await ledgerWith([seedling('a', { sown: '2024-03-10' }), seedling('b')]);
  expect(ids).toEqual([A, B]);
  await issue(ledger, A, 1);
  await issue(ledger, B, 1);
  return ledger;
}

async function issue(ledger: Ledger, id: string, number: number): Promise<void> {
  const place = { stock: 'x', sheet: 'x.pdf', page: 1, row: 1, column: number };
  const body = { id: id as PlantId, issue: number, ...place };
  await ledger.write('wren', (writer) => writer.append({ kind: 'tag-issued', body }));
}

const seen = (record: Partial<ToRecord> = {}): ToRecord => ({
  by: 'finch',
  date: '2026-09-14',
  values: { brix: 18.5 },
  keepPhoto: false,
  ...record,
});

/** What is in the ledger: ID → values of each observation. */
async function recorded(ledger: Ledger): Promise<Record<string, unknown[]>> {
  const found: Record<string, unknown[]> = {};
  for (const { id } of await ledger.plants({})) {
    const observations = await ledger.observations(id);
    if (observations.length > 0) found[id] = observations.map(({ values }) => values);
  }
  return found;
}

describe('scanTexts', () => {
  it('records under every plant that is certain, and says why not of the others', async () => {
    const ledger = await garden();
    const texts = [`${A}.1`, `${B}.2`, 'K7FY5', `${B.slice(0, 4)}?`, 'hello there', B.toLowerCase()];
    const scans = await scanTexts(ledger, texts, seen(), null);
    expect(scans.map(({ text, status }) => [text, status])).toEqual([
      [texts[0], 'current'],
      [texts[1], 'unissued'],
      [texts[2], 'unknown'],
      [texts[3], 'unreadable'],
      [texts[4], 'not-a-tag'],
      [texts[5], 'current'],
    ]);
    expect(scans.map(({ observation }) => observation !== null)).toEqual([
      true,
      false,
      false,
      false,
      false,
      true,
    ]);
    expect(scans.map(({ notRecorded }) => notRecorded !== null)).toEqual([
      false,
      true,
      true,
      true,
      true,
      false,
    ]);
    expect(await recorded(ledger)).toEqual({ [A]: [{ brix: 18.5 }], [B]: [{ brix: 18.5 }] });
    expect(scans[0]?.observation).toMatchObject({ issue: 1, by: 'finch', date: '2026-09-14' });
    expect(scans[5]?.observation).toMatchObject({ issue: null });
  });

  it('when nothing was seen, records nothing', async () => {
    const ledger = await garden();
    const [scan] = await scanTexts(ledger, [A], seen({ values: {} }), null);
    expect(scan).toMatchObject({ status: 'current', observation: null, notRecorded: null });
    expect(await recorded(ledger)).toEqual({});
  });

  it('when one of several plants was not yet sown that day, records none of them', async () => {
    const ledger = await garden();
    const scanning = scanTexts(ledger, [B, A], seen({ date: '2024-03-09' }), null);
    await expect(scanning).rejects.toMatchObject({ code: 'before-sowing' });
    expect(await recorded(ledger)).toEqual({});
  });

  it('when one plant is named twice, what was seen is recorded once', async () => {
    const ledger = await garden();
    await scanTexts(ledger, [A, `${A}.1`], seen(), null);
    expect(await recorded(ledger)).toEqual({ [A]: [{ brix: 18.5 }] });
  });

  it('keeps a photo with the observation, and check finds it sound', async () => {
    const ledger = await garden();
    const photo = join(freshFolder(), 'Cut Fruit.JPG');
    const picture = Buffer.from('\xff\xd8\xff not looked into: it is the fruit, not the tag', 'latin1');
    writeFileSync(photo, picture);
    const [scan] = await scanTexts(ledger, [A], seen({ values: {}, keepPhoto: true }), photo);
    const kept = scan?.observation?.photo;
    expect(kept?.file).toMatch(/\.jpg$/);
    expect(readFileSync(join(ledger.folder, 'photos', kept?.file ?? ''))).toEqual(picture);
    expect(checkLedger(ledger.folder, () => {}).findings).toEqual([]);
  });

  it('when what is to be kept is no picture, refuses it and records nothing', async () => {
    const ledger = await garden();
    const page = join(freshFolder(), 'page.jpg');
    writeFileSync(page, '<script>alert(1)</script>');
    const scanning = scanTexts(ledger, [A], seen({ keepPhoto: true }), page);
    await expect(scanning).rejects.toMatchObject({ code: 'not-a-picture' });
    expect(await recorded(ledger)).toEqual({});
  });

  it('when the photo is not there, records nothing', async () => {
    const ledger = await garden();
    const missing = join(freshFolder(), 'none.jpg');
    const scanning = scanTexts(ledger, [A], seen({ keepPhoto: true }), missing);
    await expect(scanning).rejects.toBeInstanceOf(InputError);
    expect(await recorded(ledger)).toEqual({});
  });
});

/** A photo of tags on a bench, in a file. */
async function photoOf(...tags: readonly SampleTag[]): Promise<string> {
  const file = join(freshFolder(), 'bench.png');
  writeFileSync(file, await photoOnBench(...tags));
  return file;
}

describe('damaged tags in one photo', () => {
  const tag = (...suspects: readonly (readonly [text: string, probability: number])[]) => ({
    suspects: suspects.map(([text, probability]) => ({ text, probability })),
    part: 'symbol' as const,
    shown: null,
  });
  const resolved = async (...damaged: readonly ReturnType<typeof tag>[]) =>
    resolvedIn(await garden(), ...damaged);
  const resolvedIn = async (ledger: Ledger, ...damaged: readonly ReturnType<typeof tag>[]) =>
    (await resolveRead(ledger, { texts: [], damaged })).map(({ status, text, candidates }) => ({
      status,
      text,
      candidates: candidates.map(({ plant, because }) => `${plant.id} ${because.split(' likely')[0]}`),
    }));
  const question = (...candidates: readonly string[]) => ({
    status: 'unreadable',
    text: '?????',
    candidates,
  });

  it('when several are offered, are all asked about in one question, each plant as it is likeliest', async () => {
    const [one, other] = [tag([`${A}.1`, 0.96], [`${B}.1`, 0.03]), tag([`${B}.1`, 0.92])];
    expect(await resolved(one, other)).toEqual([question(`${A} 96 %`, `${B} 92 %`)]);
    expect(await resolved(one, one)).toEqual([question(`${A} 96 %`, `${B} 3 %`)]);
  });

  it('when one is read and another offered, are read and asked about', async () => {
    const read = tag([`${A}.1`, 0.99995]);
    expect(await resolved(read, read, tag([`${B}.1`, 0.92]))).toEqual([
      { status: 'current', text: `${A}.1`, candidates: [] },
      question(`${B} 92 %`),
    ]);
  });

  it('when the issue is covered, the plant is as likely as all of its tags together', async () => {
    const ledger = await garden();
    await issue(ledger, A, 2);
    const damaged = tag([`${A}.2`, 0.5], [`${A}.1`, 0.46], [`${B}.1`, 0.02]);
    expect(isOffered(damaged)).toBe(true);
    expect(await resolvedIn(ledger, damaged)).toEqual([question(`${A} 96 %`, `${B} 2 %`)]);
    expect(isOffered(tag([`${A}.2`, 0.5], [`${B}.1`, 0.46]))).toBe(false);
  });

  it('when none is likely enough to be offered, are asked about as the surest of them alone', async () => {
    expect(await resolved(tag([`${A}.1`, 0.5]), tag([`${B}.1`, 0.4]))).toEqual([question(`${A} 50 %`)]);
    expect(await resolved(tag([`${A}.1`, 0.001]), tag([`${B}.1`, 0.001]))).toEqual([]);
  });
});

describe('scanPhotos', () => {
  it('records where a photo shows one plant, whichever symbol it bears', async () => {
    const ledger = await garden();
    const photos = [
      await photoOf(await sampleQrTag(`${A}.1`)),
      await photoOf(await sampleCode128Tag(`${B}.1`)),
    ];
    const scans = await scanPhotos(ledger, photos, seen());
    expect(scans.map(({ text, status, photo }) => [text, status, photo])).toEqual([
      [`${A}.1`, 'current', photos[0]],
      [`${B}.1`, 'current', photos[1]],
    ]);
    expect(await recorded(ledger)).toEqual({ [A]: [{ brix: 18.5 }], [B]: [{ brix: 18.5 }] });
  });

  it('when a photo shows two plants, names both and records under neither', async () => {
    const ledger = await garden();
    const photo = await photoOf(await sampleQrTag(`${A}.1`), await sampleQrTag(`${B}.1`));
    const scans = await scanPhotos(ledger, [photo], seen());
    expect(scans.map(({ text }) => text).sort()).toEqual([`${A}.1`, `${B}.1`].sort());
    for (const scan of scans) expect(scan).toMatchObject({ status: 'current', observation: null });
    for (const { notRecorded } of scans) expect(notRecorded).toMatch(/several plants/);
    expect(await recorded(ledger)).toEqual({});
  });

  it('when a photo shows an older tag of another plant beside a current one, records nothing and says why', async () => {
    const ledger = await garden();
    await issue(ledger, B, 2);
    const photo = await photoOf(await sampleQrTag(`${A}.1`), await sampleQrTag(`${B}.1`));
    const scans = await scanPhotos(ledger, [photo], seen());
    expect(new Map(scans.map(({ text, status }) => [text, status]))).toEqual(
      new Map([
        [`${A}.1`, 'current'],
        [`${B}.1`, 'superseded'],
      ]),
    );
    for (const { notRecorded } of scans) expect(notRecorded).toMatch(/several plants/);
    expect(await recorded(ledger)).toEqual({});
  });

  it('when a photo shows a tag of another garden beside a current one, records nothing and says why', async () => {
    const ledger = await garden();
    const photo = await photoOf(await sampleQrTag(`${A}.1`), await sampleQrTag('K7FY5.1'));
    const scans = await scanPhotos(ledger, [photo], seen());
    expect(scans).toHaveLength(2);
    for (const { notRecorded } of scans) expect(notRecorded).toMatch(/another tag.*not certain/);
    expect(await recorded(ledger)).toEqual({});
  });

  it('when a photo shows a supplier’s barcode beside a current tag, records under its plant', async () => {
    const ledger = await garden();
    const photo = await photoOf(await sampleQrTag(`${A}.1`), await sampleCode128Tag('LOT 4711'));
    const scans = await scanPhotos(ledger, [photo], seen());
    expect(scans.map(({ text }) => text).sort()).toEqual(['LOT 4711', `${A}.1`]);
    for (const scan of scans) expect(scan.notRecorded).toBeNull();
    expect(await recorded(ledger)).toEqual({ [A]: [{ brix: 18.5 }] });
  });

  it('when a photo shows both tags of one plant, the older and the current, records under the current', async () => {
    const ledger = await garden();
    await issue(ledger, A, 2);
    const photo = await photoOf(await sampleQrTag(`${A}.1`), await sampleQrTag(`${A}.2`));
    const scans = await scanPhotos(ledger, [photo], seen());
    expect(scans.flatMap(({ observation }) => observation?.issue ?? [])).toEqual([2]);
    expect(await recorded(ledger)).toEqual({ [A]: [{ brix: 18.5 }] });
  });

  it('when a photo shows both symbols of one plant, records once', async () => {
    const ledger = await garden();
    const photo = await photoOf(await sampleQrTag(`${A}.1`), await sampleCode128Tag(`${A}.1`));
    await scanPhotos(ledger, [photo], seen());
    expect(await recorded(ledger)).toEqual({ [A]: [{ brix: 18.5 }] });
  });

  it('when a photo shows a code that is no tag, says so', async () => {
    const ledger = await garden();
    const scans = await scanPhotos(ledger, [await photoOf(await sampleCode128Tag('LOT 4711'))], seen());
    expect(scans).toMatchObject([{ text: 'LOT 4711', status: 'not-a-tag', observation: null }]);
    expect(await recorded(ledger)).toEqual({});
  });

  it('when a photo shows no code, says that nothing was read', async () => {
    const ledger = await garden();
    const file = join(freshFolder(), 'bench.png');
    await sharp({ create: { width: 300, height: 200, channels: 3, background: '#777' } }).toFile(file);
    const scans = await scanPhotos(ledger, [file], seen());
    expect(scans).toMatchObject([{ text: null, status: 'unreadable', photo: file, observation: null }]);
  });

  it('when one of several files is no picture, names it and records nothing', async () => {
    const ledger = await garden();
    const good = await photoOf(await sampleQrTag(`${A}.1`));
    const bad = join(freshFolder(), 'notes.txt');
    writeFileSync(bad, 'no picture');
    const error = await scanPhotos(ledger, [good, bad], seen()).catch((thrown: unknown) => thrown);
    expect(error).toBeInstanceOf(InputError);
    expect((error as InputError).place.file).toBe(bad);
    expect(await recorded(ledger)).toEqual({});
  });
});

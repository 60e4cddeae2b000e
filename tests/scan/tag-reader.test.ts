/** Photos with several tags, read by the decoders and by the ledger's tags together. */
import { beforeAll, describe, expect, it } from 'vitest';
import { OFFERED_AT, READ_AT } from '../../src/scan/reading/read.js';
import type { TagsSince } from '../../src/scan/reading/tags-since.js';
import { TagReader } from '../../src/scan/tag-reader.js';
import { ledgerTexts, PLANTS, printTags, type WeatherTag } from '../bench/weather-tags.js';
import { type Damage, encodePhoto, lone, NO_DAMAGE, photograph } from '../support/camera.js';
import { sideBySide } from '../support/pictures.js';

let tags: WeatherTag[];

beforeAll(async () => {
  tags = await printTags('a4-65-38x21', 2);
});

const photoOf = (tag: WeatherTag, damage: Partial<Damage>) =>
  photograph(
    lone(tag.face, tag.facePxPerMm),
    {
      ...NO_DAMAGE,
      pxPerMm: 5 / tag.moduleMm,
      tiltDeg: 15,
      rotationDeg: 25,
      dirtBox: tag.symbolMm,
      ...damage,
    },
    11,
  );

/** A ledger's tags: those of `entries[n]` are issued by its entry n + 1. Tells how often it was asked. */
function issued(...entries: string[][]): { tagsSince: TagsSince; asked: number[]; entries: string[][] } {
  const asked: number[] = [];
  const tagsSince: TagsSince = async (entry) => {
    asked.push(entry);
    return { texts: entries.slice(entry).map((texts) => texts.join(' ')), entry: entries.length };
  };
  return { tagsSince, asked, entries };
}

describe('a photo of a readable tag and a damaged one', () => {
  it('shows both, and asks for the tags of the ledger', async () => {
    const [clean, muddy] = tags as [WeatherTag, WeatherTag];
    const photo = sideBySide(photoOf(clean, {}), photoOf(muddy, { mudShare: 0.3 }));
    const { tagsSince } = issued(ledgerTexts());
    const read = await new TagReader(tagsSince, 5, true).read(await encodePhoto(photo, 'jpeg'));
    expect(read.texts).toEqual([clean.text]);
    expect(read.damaged.map(({ suspects }) => suspects[0]?.text)).toEqual([muddy.text]);
    expect(read.damaged[0]?.suspects[0]?.probability).toBeGreaterThanOrEqual(READ_AT);
    expect(read.damaged[0]?.shown?.caption).toContain(`the tag ${muddy.text}, over 99.99 % likely`);
  });

  it('shows the readable one alone where the other is of another ledger', async () => {
    const [clean, muddy] = tags as [WeatherTag, WeatherTag];
    const photo = sideBySide(photoOf(clean, {}), photoOf(muddy, { mudShare: 0.3 }));
    const { tagsSince } = issued(ledgerTexts(PLANTS + 1));
    const read = await new TagReader(tagsSince, 5).read(await encodePhoto(photo, 'jpeg'));
    expect(read).toEqual({ texts: [clean.text], damaged: [] });
  });
});

it('a readable tag by itself is no damaged tag too, and the tags of the ledger are not asked for', async () => {
  const [clean] = tags as [WeatherTag];
  const views: Partial<Damage>[] = [{}, { rotationDeg: 200 }, { wrapDeg: 60 }, { ground: 'soil' }];
  for (const damage of views) {
    const { tagsSince, asked } = issued(ledgerTexts());
    const photo = await encodePhoto(photoOf(clean, damage), 'jpeg');
    expect(await new TagReader(tagsSince, 5).read(photo)).toEqual({ texts: [clean.text], damaged: [] });
    expect(asked).toEqual([]);
  }
});

it('a tag that is issued between two photos is read in the second; older ones are not asked for again', async () => {
  const [, muddy] = tags as [WeatherTag, WeatherTag];
  const photo = await encodePhoto(photoOf(muddy, { mudShare: 0.3 }), 'jpeg');
  const ledger = issued(ledgerTexts().filter((text) => text !== muddy.text));
  const reader = new TagReader(ledger.tagsSince, 5);
  const before = await reader.read(photo);
  expect(before.damaged[0]?.suspects[0]?.probability ?? 0).toBeLessThan(0.5);
  ledger.entries.push([muddy.text]);
  const { damaged } = await reader.read(photo);
  expect(damaged[0]?.suspects[0]).toMatchObject({ text: muddy.text });
  expect(damaged[0]?.suspects[0]?.probability).toBeGreaterThanOrEqual(READ_AT);
  expect(ledger.asked).toEqual([0, 1]);
});

it('a damaged Code 128 is offered by its bars, and not taken', async () => {
  const [tag] = (await printTags('a4-21-64x38', 1, [], 'code128')) as [WeatherTag];
  const photo = photoOf(tag, { mudShare: 0.35, pxPerMm: 2.6 / tag.moduleMm });
  const { tagsSince } = issued(ledgerTexts());
  const read = await new TagReader(tagsSince, 5).read(await encodePhoto(photo, 'jpeg'));
  expect(read.texts).toEqual([]);
  const [first] = read.damaged[0]?.suspects ?? [];
  expect(first?.text).toBe(tag.text);
  expect(first?.probability).toBeGreaterThanOrEqual(OFFERED_AT);
  expect(first?.probability).toBeLessThan(READ_AT);
});

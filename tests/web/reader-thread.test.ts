/** Photos read in a thread of their own: everyone else is answered meanwhile, and every end is clean. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { InputError, LedgerError } from '../../src/errors.js';
import type { TagsSince } from '../../src/scan/reading/tags-since.js';
import { builtReader } from '../../src/web/assets.js';
import { ReaderThread } from '../../src/web/reader-thread.js';
import { ledgerTexts, printTags, type WeatherTag } from '../bench/weather-tags.js';
import { encodePhoto, lone, NO_DAMAGE, photograph } from '../support/camera.js';
import { freshFolder } from '../support/ledger.js';

const allTags: TagsSince = async (entry) => ({
  texts: entry === 0 ? [ledgerTexts().join(' ')] : [],
  entry: 1,
});

let tag: WeatherTag;
let muddy: Uint8Array;
let blank: Uint8Array;

beforeAll(async () => {
  [tag] = (await printTags('a4-65-38x21', 1)) as [WeatherTag];
  const damage = { ...NO_DAMAGE, pxPerMm: 3.5 / tag.moduleMm, mudShare: 0.3, dirtBox: tag.symbolMm };
  muddy = await encodePhoto(photograph(lone(tag.face, tag.facePxPerMm), damage, 5), 'jpeg');
  blank = await sharp({ create: { width: 60, height: 40, channels: 3, background: '#567' } })
    .png()
    .toBuffer();
});

function threadOver(tagsSince: TagsSince, file = builtReader()): ReaderThread {
  const thread = new ReaderThread(file, tagsSince, 5);
  onTestFinished(() => thread.close());
  return thread;
}

describe('the thread', () => {
  it('reads a damaged tag by the tags it asks for, once for all photos', async () => {
    const asked: number[] = [];
    const thread = threadOver((entry) => {
      asked.push(entry);
      return allTags(entry);
    });
    for (const photo of [muddy, muddy]) {
      const { texts, damaged } = await thread.read(photo);
      expect(texts).toEqual([]);
      expect(damaged[0]?.suspects[0]?.text).toBe(tag.text);
    }
    expect(asked).toEqual([0, 1]);
  });

  it('answers this thread while it reads', async () => {
    let [turns, isReading] = [0, true];
    const turn = () => {
      if (!isReading) return;
      turns++;
      setImmediate(turn);
    };
    // From here on the thread has all it needs and is held up by nobody.
    const thread = threadOver(async (entry) => {
      setImmediate(turn);
      return allTags(entry);
    });
    await thread.read(muddy);
    isReading = false;
    // In one thread there would be none or a few between the tags and the end.
    expect(turns).toBeGreaterThan(100);
  });

  it('refuses what is no sound picture as this thread would, and goes on', async () => {
    const thread = threadOver(allTags);
    await expect(thread.check(new TextEncoder().encode('no picture'))).rejects.toMatchObject({
      code: 'not-a-picture',
      hint: 'Give a photo of the tag, or save the picture as JPEG and give that.',
    });
    const refused = await thread.read(blank.subarray(0, 60)).catch((error: unknown) => error);
    expect(refused).toBeInstanceOf(InputError);
    await thread.check(blank);
    expect(await thread.read(blank)).toEqual({ texts: [], damaged: [] });
  });

  it('passes on what the ledger says when it cannot tell its tags, and asks again for the next photo', async () => {
    let isLocked = true;
    const thread = threadOver(async (entry) => {
      if (isLocked) throw new LedgerError('locked', 'Someone else is writing.', 'Wait.');
      return allTags(entry);
    });
    await expect(thread.read(muddy)).rejects.toMatchObject({ code: 'locked' });
    isLocked = false;
    expect((await thread.read(muddy)).damaged[0]?.suspects[0]?.text).toBe(tag.text);
  });

  it('starts anew after a fault', async () => {
    const file = join(freshFolder(), 'broken.mjs');
    writeFileSync(file, 'throw new Error("broken");\n');
    const thread = threadOver(allTags, file);
    await expect(thread.check(blank)).rejects.toThrow('broken');
    await expect(thread.check(blank)).rejects.toThrow('broken');
  });

  it('refuses photos when too many wait, and reads those that do', async () => {
    const thread = threadOver(allTags);
    const answers = await Promise.allSettled(Array.from({ length: 12 }, () => thread.check(blank)));
    const refused = answers.filter(({ status }) => status === 'rejected');
    expect(refused).toHaveLength(3);
    for (const answer of refused) expect(answer).toMatchObject({ reason: { code: 'busy' } });
  });

  it('when closed, ends what it does and refuses what waits', async () => {
    const thread = threadOver(allTags);
    const reading = [thread.read(muddy), thread.read(muddy)];
    const answers = Promise.allSettled(reading);
    await thread.close();
    for (const answer of await answers) expect(answer).toMatchObject({ reason: { code: 'closing' } });
    await expect(thread.check(blank)).rejects.toMatchObject({ code: 'closing' });
  });
});

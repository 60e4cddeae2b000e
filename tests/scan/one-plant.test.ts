import { describe, expect, it } from 'vitest';
import type { PlantId } from '../../src/ids/plant-id.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { type NotOnePlant, onePlantIn } from '../../src/scan/one-plant.js';
import { resolve } from '../../src/scan/resolve.js';
import { ledgerWith, seedling } from '../support/ledger.js';

/** Plants `PXSV9` and `DZK67`, of each the tags 1 to 3: superseded, void, current. */
async function garden(): Promise<Ledger> {
  const { ledger, ids } = await ledgerWith([seedling('a'), seedling('b')]);
  expect(ids).toEqual(['PXSV9', 'DZK67']);
  await ledger.write('wren', async (writer) => {
    for (const id of ids as PlantId[]) {
      for (const issue of [1, 2, 3]) {
        const body = { id, issue, stock: 'x', sheet: 'x.pdf', page: 1, row: 1, column: issue };
        await writer.append({ kind: 'tag-issued', body });
        if (issue === 2) await writer.append({ kind: 'tag-voided', body: { id, issue, why: 'exchanged' } });
      }
    }
  });
  return ledger;
}

async function judged(texts: readonly string[], how: { by: 'decoder' | 'ledger' } = { by: 'decoder' }) {
  const ledger = await garden();
  const photo = [];
  for (const text of texts) photo.push({ ...(await resolve(ledger, text)), how });
  const { tag, whyNot } = onePlantIn(photo);
  return tag?.text ?? whyNot;
}

const TAG = 'PXSV9.3';

describe('a photo that shows a current tag and', () => {
  const besides: readonly (readonly [what: string, text: string, whyNot: NotOnePlant | null])[] = [
    ['nothing else', TAG, null],
    ['an older tag of the plant', 'PXSV9.1', null],
    ['the plant’s ID without an issue', 'PXSV9', null],
    ['another plant’s current tag', 'DZK67.3', 'several plants'],
    ['another plant’s older tag', 'DZK67.1', 'several plants'],
    ['a tag of another plant that was given up', 'DZK67.2', 'several plants'],
    ['a tag of another plant that was never printed', 'DZK67.4', 'several plants'],
    ['another plant’s ID without an issue', 'DZK67', 'several plants'],
    ['a tag of the plant that was given up: it may hang on another', 'PXSV9.2', 'uncertain tag'],
    ['a tag of its ID that was never printed: another garden’s', 'PXSV9.4', 'uncertain tag'],
    ['a tag of no plant here', 'K7FY5.1', 'uncertain tag'],
    ['a tag with a link, of no plant here', 'https://garden.example/K7FY5.1', 'uncertain tag'],
    ['a tag that was misread', 'DZK68.1', 'uncertain tag'],
    ['a tag of a garden with longer IDs', '00R9S8.1', 'uncertain tag'],
    ['a tag of a garden with the longest IDs', '03RJ090.12', 'uncertain tag'],
    ['a product’s number', '4006381333931', null],
    ['a lot', 'LOT 4711', null],
    ['a word as long as an ID', 'PEACH', null],
    ['an article’s number that is sound as an ID by chance', 'K7FY5', null],
    ['a shop’s link', 'https://nursery.example/figs/12345', null],
    ['a station’s sign', 'station bench 1 / row 2', null],
  ];
  for (const [what, text, whyNot] of besides) {
    it(`${what}, ${whyNot === null ? 'is that plant’s' : `is not one plant’s: ${whyNot}`}`, async () => {
      for (const texts of [
        [TAG, text],
        [text, TAG],
      ]) {
        const found = await judged(texts);
        if (whyNot === null) expect(['PXSV9.3', 'PXSV9']).toContain(found);
        else expect(found).toBe(whyNot);
      }
    });
  }

  it('a damaged one that is only offered, is not one plant’s', async () => {
    const tag = { ...(await resolve(await garden(), TAG)), how: { by: 'decoder' as const } };
    const offered = { text: '?????', status: 'unreadable', plant: null, how: { by: 'ledger' } } as const;
    expect(onePlantIn([tag, offered]).whyNot).toBe('uncertain tag');
  });
});

describe('a photo without a current tag', () => {
  for (const texts of [[], ['PXSV9.1'], ['PXSV9.1', 'DZK67.1'], ['K7FY5.1'], ['LOT 4711']]) {
    it(`but ${texts.join(' and ') || 'nothing'}, names no plant for certain`, async () => {
      expect(await judged(texts)).toBe('no current tag');
    });
  }
});

it('tags that were read from what is left of them count like others', async () => {
  const by = { by: 'ledger' } as const;
  expect(await judged([TAG], by)).toBe(TAG);
  expect(await judged([TAG, 'PXSV9.1'], by)).toBe(TAG);
  expect(await judged([TAG, 'DZK67.1'], by)).toBe('several plants');
});

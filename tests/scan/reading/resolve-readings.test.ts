/** Which damaged tags of a photo are taken, which are asked about, and which are left unsaid. */
import { expect, it } from 'vitest';
import type { Ledger } from '../../../src/ledger/ledger.js';
import { resolveDamaged } from '../../../src/scan/reading/resolve-readings.js';
import type { DamagedTag } from '../../../src/scan/tag-reader.js';
import { ledgerWith, seedling } from '../../support/ledger.js';

const [A, B] = ['PXSV9', 'DZK67'] as const;

async function garden(): Promise<Ledger> {
  const { ledger, ids } = await ledgerWith([seedling('a'), seedling('b')]);
  expect(ids).toEqual([A, B]);
  await ledger.write('wren', async (writer) => {
    for (const id of ids) {
      const body = { id, issue: 1, stock: 'x', sheet: 'x.pdf', page: 1, row: 1, column: 1 };
      await writer.append({ kind: 'tag-issued', body });
    }
  });
  return ledger;
}

const tag = (id: string, probability: number): DamagedTag => ({
  part: 'symbol',
  suspects: [{ text: `${id}.1`, probability }],
  shown: null,
});

it('a tag that is as good as certain is taken, one that is likely is asked about', async () => {
  const resolutions = await resolveDamaged(await garden(), [tag(A, 0.99995), tag(B, 0.97)]);
  expect(resolutions).toMatchObject([
    { text: `${A}.1`, status: 'current', plant: { id: A }, candidates: [] },
    { status: 'unreadable', plant: null, candidates: [{ plant: { id: B }, probability: 0.97 }] },
  ]);
});

it('what is hardly likely is asked about by itself, and not beside a tag that was read', async () => {
  const ledger = await garden();
  expect(await resolveDamaged(ledger, [tag(B, 0.4)])).toMatchObject([{ candidates: [{ plant: { id: B } }] }]);
  const beside = await resolveDamaged(ledger, [tag(A, 0.99995), tag(B, 0.4)]);
  expect(beside.map(({ text }) => text)).toEqual([`${A}.1`]);
  expect(await resolveDamaged(ledger, [tag(B, 0.005)])).toEqual([]);
});

it('a plant whose issues are told apart by nothing is offered by all of them together', async () => {
  const suspects = [
    { text: `${A}.1`, probability: 0.5 },
    { text: `${A}.2`, probability: 0.48 },
  ];
  const [offered] = await resolveDamaged(await garden(), [{ part: 'bars', suspects, shown: null }]);
  expect(offered?.candidates).toMatchObject([{ plant: { id: A }, probability: 0.98 }]);
  expect(offered?.candidates[0]?.because).toBe('98 % likely by what is left of its bars');
});

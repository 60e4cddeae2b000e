/** Tags of other gardens, other codes, patterns and surfaces, through all that reads a photo: no plant. */
import { expect, it } from 'vitest';
import { picturesOfNothing } from '../../bench/weather-none.js';

const KINDS = 8;

it('no picture without a tag of the ledger becomes a plant, or is offered as one', async () => {
  const results = await picturesOfNothing(KINDS, 20261125, 'all', undefined);
  expect(results.reduce((sum, { pictures }) => sum + pictures, 0)).toBe(KINDS);
  expect(results.filter(({ read, offered }) => read + offered > 0)).toEqual([]);
}, 120_000);

/** A few of the pictures of `npm run bench:none`, one of each kind of thing. */
import { expect, it } from 'vitest';
import { picturesOfNothing } from '../../bench/weather-none.js';

it('a picture that holds no tag of the ledger is never a plant', async () => {
  const results = await picturesOfNothing(8, 20261125, 'all', undefined);
  expect(results.map(({ pictures }) => pictures)).toEqual([1, 1, 1, 1, 1, 1, 1, 1]);
  expect(results.filter(({ read, offered }) => read + offered > 0)).toEqual([]);
}, 180_000);

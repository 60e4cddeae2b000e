import { expect, it } from 'vitest';
import { oneByOne } from '../../src/web/one-by-one.js';

it('runs one at a time, in order, also after one that fails', async () => {
  const inTurn = oneByOne();
  const [done, running] = [[] as number[], { now: 0, most: 0 }];
  const results = await Promise.allSettled(
    [0, 1, 2, 3].map((number) =>
      inTurn(async () => {
        running.now++;
        running.most = Math.max(running.most, running.now);
        await new Promise((resume) => setTimeout(resume, 5 - number));
        running.now--;
        done.push(number);
        if (number === 1) throw new Error('damaged');
        return number;
      }),
    ),
  );
  expect(done).toEqual([0, 1, 2, 3]);
  expect(running.most).toBe(1);
  expect(results.map(({ status }) => status)).toEqual(['fulfilled', 'rejected', 'fulfilled', 'fulfilled']);
});

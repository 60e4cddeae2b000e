import { expect, it } from 'vitest';
import { oneByOne } from '../../src/web/one-by-one.js';

const never = (): Error => new Error('refused');

it('runs one at a time, in order, also after one that fails', async () => {
  const inTurn = oneByOne(10);
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
      }, never),
    ),
  );
  expect(done).toEqual([0, 1, 2, 3]);
  expect(running.most).toBe(1);
  expect(results.map(({ status }) => status)).toEqual(['fulfilled', 'rejected', 'fulfilled', 'fulfilled']);
});

it('refuses what comes while too many wait, and takes the next when one is done', async () => {
  const inTurn = oneByOne(2);
  let open = () => {};
  const gate = new Promise<void>((resume) => {
    open = resume;
  });
  const first = [1, 2, 3].map(() => inTurn(() => gate, never));
  await expect(inTurn(async () => {}, never)).rejects.toThrow('refused');
  open();
  await Promise.all(first);
  await expect(inTurn(async () => 'done', never)).resolves.toBe('done');
});

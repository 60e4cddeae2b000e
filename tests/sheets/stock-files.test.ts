import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { InputError } from '../../src/errors.js';
import { checkStockFile, listStocks, loadStock, shippedStocksFolder } from '../../src/sheets/stock-files.js';

let own: string;
beforeEach(() => {
  own = mkdtempSync(join(tmpdir(), 'pottag-stocks-'));
});
afterEach(() => rmSync(own, { recursive: true }));

const folders = () => [shippedStocksFolder(), own];

function thrownBy(action: () => unknown): InputError {
  try {
    action();
  } catch (error) {
    if (error instanceof InputError) return error;
    throw error;
  }
  throw new Error('nothing was thrown');
}

test("a grower's own file works like a shipped one, and takes the place of one of its name", () => {
  const shipped = loadStock('a4-65-38x21', folders());
  writeFileSync(join(own, 'mine.json'), JSON.stringify({ ...shipped, name: 'mine' }));
  writeFileSync(join(own, 'a4-65-38x21.json'), JSON.stringify({ ...shipped, dpi: 1200 }));
  expect(loadStock('mine', folders()).cells).toEqual(shipped.cells);
  expect(loadStock('a4-65-38x21', folders()).dpi).toBe(1200);
  const listed = listStocks(folders());
  expect(listed.filter(({ name }) => name === 'a4-65-38x21')).toEqual([
    {
      name: 'a4-65-38x21',
      file: join(own, 'a4-65-38x21.json'),
      description: shipped.description,
      problems: [],
    },
  ]);
  expect(listed.map(({ name }) => name)).not.toContain('stock.schema');
});

test('a byte order mark, as some editors write it, does no harm', () => {
  const shipped = loadStock('a4-65-38x21', folders());
  writeFileSync(join(own, 'mine.json'), `\uFEFF${JSON.stringify({ ...shipped, name: 'mine' })}`);
  expect(loadStock('mine', folders()).name).toBe('mine');
});

test('an unknown name is answered with near misses and the list', () => {
  const error = thrownBy(() => loadStock('a4-65-38x12', folders()));
  expect(error.code).toBe('unknown-stock');
  expect(error.hint).toMatch(/^Did you mean a4-65-38x21/);
  expect(error.hint).toMatch(/roll-203-50x25/);
  expect(thrownBy(() => loadStock('stake', folders())).hint).toMatch(/Did you mean stake-a4-16x127/);
  expect(thrownBy(() => loadStock('../package', folders())).code).toBe('unknown-stock');
});

test('a file with problems is listed, and refused with all of them', () => {
  writeFileSync(join(own, 'bad.json'), '{"name": "other"}');
  expect(listStocks(folders()).find(({ name }) => name === 'bad')?.description).toBeNull();
  const error = thrownBy(() => loadStock('bad', folders()));
  expect(error.code).toBe('bad-stock');
  expect(error.problems.length).toBeGreaterThan(3);
  expect(error.place.file).toBe(join(own, 'bad.json'));
});

test('a file that is named otherwise than its stock is refused', () => {
  const shipped = loadStock('a4-65-38x21', folders());
  writeFileSync(join(own, 'mine.json'), JSON.stringify(shipped));
  expect(thrownBy(() => loadStock('mine', folders())).problems).toEqual([
    { line: null, column: 'name', problem: 'is "a4-65-38x21", but the file is "mine.json"' },
  ]);
});

test('the list tells what is wrong with each file, in its geometry too', () => {
  const shipped = loadStock('a4-65-38x21', folders());
  const wide = { ...shipped, name: 'wide', cells: { ...shipped.cells, columns: 6 } };
  writeFileSync(join(own, 'wide.json'), JSON.stringify(wide));
  const listed = listStocks(folders()).filter(({ problems }) => problems.length > 0);
  expect(listed.map(({ name }) => name)).toEqual(['wide']);
  expect(listed[0]?.problems[0]?.problem).toMatch(/cells leave the page/);
});

test('a file where the folder of stocks is looked for is said so', () => {
  const file = join(own, 'layouts');
  writeFileSync(file, 'no folder');
  for (const action of [listStocks, (all: string[]) => loadStock('a4-65-38x21', all)]) {
    const error = thrownBy(() => action([shippedStocksFolder(), file]));
    expect([error.code, error.place.file]).toEqual(['no-folder', file]);
  }
});

test('what is not JSON, or not there, is said so', () => {
  writeFileSync(join(own, 'torn.json'), '{"name": ');
  expect(thrownBy(() => loadStock('torn', folders())).code).toBe('not-json');
  const torn = listStocks(folders()).find(({ name }) => name === 'torn');
  expect(torn).toMatchObject({
    description: null,
    problems: [{ problem: expect.stringMatching(/is not JSON/) }],
  });
  expect(thrownBy(() => checkStockFile(join(own, 'none.json'))).code).toBe('no-file');
});

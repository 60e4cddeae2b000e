import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { findSoundId, ID_LENGTHS, type PlantId } from '../../src/ids/plant-id.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { resolve, type ScanStatus } from '../../src/scan/resolve.js';
import { whatToDo } from '../../src/scan/unresolved.js';
import { freshLedger, ledgerWith, seedling } from '../support/ledger.js';

/** Plants `PXSV9`, whose tags 1 to 4 are superseded, void, superseded and current, and `DZK67`, untagged. */
async function garden(): Promise<Ledger> {
  const { ledger, ids } = await ledgerWith([
    seedling('a', { seedParent: 'Amber Tollhouse', pollenParent: 'Moth Captain', station: 'bench 1 / 1' }),
    seedling('b'),
  ]);
  expect(ids).toEqual(['PXSV9', 'DZK67']);
  const id = ids[0] as PlantId;
  await ledger.write('wren', async (writer) => {
    for (const issue of [1, 2, 3, 4]) {
      const body = { id, issue, stock: 'x', sheet: 'x.pdf', page: 1, row: 1, column: issue };
      await writer.append({ kind: 'tag-issued', body });
      if (issue === 2) await writer.append({ kind: 'tag-voided', body: { id, issue, why: 'faded' } });
    }
  });
  return ledger;
}

describe('a tag that was given up', () => {
  it('says why', async () => {
    const ledger = await garden();
    const resolution = await resolve(ledger, 'PXSV9.2');
    expect(resolution).toMatchObject({ status: 'void', voidedBecause: 'faded', candidates: [] });
    expect(whatToDo(resolution, 5)).toMatch(/given up: it had faded\./);
  });

  it('as exchanged offers the plant whose pot wore it, unless a third one may have', async () => {
    const { ledger, ids } = await ledgerWith([seedling('a'), seedling('b'), seedling('c')]);
    const [a, b, c] = ids as [PlantId, PlantId, PlantId];
    const days = { since: '2026-05-01', until: '2026-06-01' };
    await ledger.write('wren', async (writer) => {
      const place = { stock: 'x', sheet: 'x.pdf', page: 1, row: 1, column: 1 };
      await writer.append({ kind: 'tag-issued', body: { id: a, issue: 1, ...place } });
      await writer.append({ kind: 'exchanged', body: { a, b, ...days } });
      await writer.append({ kind: 'tag-voided', body: { id: a, issue: 1, why: 'exchanged' } });
    });
    const resolution = await resolve(ledger, `${a}.1`);
    expect(resolution).toMatchObject({
      status: 'void',
      plant: { id: a },
      candidates: [{ plant: { id: b } }],
    });
    expect(whatToDo(resolution, 5)).toMatch(/given up: it hung on the pot of another plant\./);
    await ledger.write('wren', (writer) =>
      writer.append({ kind: 'exchanged', body: { a: b, b: c, ...days } }),
    );
    expect((await resolve(ledger, `${a}.1`)).candidates).toEqual([]);
  });
});

describe('the status', () => {
  const cases: readonly (readonly [text: string, status: ScanStatus, issue: number | null])[] = [
    ['PXSV9', 'current', null],
    ['PXSV9.4', 'current', 4],
    ['PXSV9.3', 'superseded', 3],
    ['PXSV9.1', 'superseded', 1],
    ['PXSV9.2', 'void', 2],
    ['PXSV9.5', 'unissued', 5],
    ['DZK67.1', 'unissued', 1],
    ['K7FY5', 'unknown', null],
    ['K7FY5.1', 'unknown', 1],
    ['PXSV8', 'unreadable', null],
    ['PXS?9.4', 'unreadable', 4],
    ['?????', 'unreadable', null],
    ['', 'not-a-tag', null],
    ['4006381333931', 'not-a-tag', null], // A product's number, as on any seed packet.
    ['https://example.org/', 'not-a-tag', null],
    ['PXSV9.0', 'not-a-tag', null],
    ['PXSV', 'not-a-tag', null],
    ['PXSVU', 'not-a-tag', null], // U is not in Crockford's alphabet.
  ];
  for (const [text, status, issue] of cases) {
    it(`of "${text}" is ${status}`, async () => {
      const ledger = await garden();
      const resolution = await resolve(ledger, text);
      expect(resolution).toMatchObject({ text, status, issue });
      const hasPlant = ['current', 'superseded', 'void', 'unissued'].includes(status);
      expect(resolution.plant !== null).toBe(hasPlant);
      const todo = whatToDo(resolution, ledger.idLength);
      if (status === 'current') expect(todo).toBeNull();
      else expect(todo).toMatch(/\w/);
    });
  }

  // "a tag that has been replaced is never taken for the current one"; nor, so, one that may have been.
  it('of a tag whose issue cannot be read is not current', async () => {
    expect((await resolve(await garden(), 'PXSV9.?')).status).not.toBe('current');
  });

  it('what to do about a sound ID with a wrong issue does not blame the ID', async () => {
    expect(whatToDo(await resolve(await garden(), 'PXSV9.0'), 5)).not.toMatch(/5 characters/);
  });

  for (const length of ID_LENGTHS) {
    it(`what to do about no tag, with IDs of ${length} characters, shows a sound one`, async () => {
      const todo = whatToDo(await resolve(await freshLedger(length), 'hello there'), length);
      const [, example = ''] = /e\.g\. (\w+)\./.exec(todo ?? '') ?? [];
      expect(findSoundId(example, length)).toBe(example);
    });
  }

  // Crockford: lower case is upper case, I and L are 1, O is 0, hyphens may be put in for reading.
  for (const text of [
    'pxsv9.4',
    ' PXSV9.4 ',
    'PX-SV9.4',
    'P X S V 9 . 4',
    'ＰＸＳＶ９.4',
    'HTTPS://GARDEN.EXAMPLE/T/PXSV9.4',
  ]) {
    it(`"${text}" is PXSV9.4`, async () => {
      const { id, issue, status } = await resolve(await garden(), text);
      expect({ id, issue, status }).toEqual({ id: 'PXSV9', issue: 4, status: 'current' });
    });
  }
});

describe('what is offered', () => {
  const offered = async (ledger: Ledger, text: string) => {
    const resolution = await resolve(ledger, text);
    expect(resolution).toMatchObject({ status: 'unreadable', id: null, plant: null });
    return resolution.candidates.map(({ plant, because }) => [plant.id, because]);
  };

  it('any one wrong character of an enrolled ID is put right, but only offered', async () => {
    const ledger = await garden();
    for (let place = 0; place < 5; place++) {
      const wrong = [...'PXSV9'].with(place, 'A').join('');
      expect(await offered(ledger, wrong), wrong).toContainEqual(['PXSV9', 'one wrong character']);
    }
  });

  it('any two neighbours swapped are swapped back, but only offered', async () => {
    const ledger = await garden();
    for (let place = 0; place < 4; place++) {
      const [left = '', right = ''] = [...'PXSV9'].slice(place, place + 2);
      const swapped = [...'PXSV9']
        .with(place, right)
        .with(place + 1, left)
        .join('');
      expect(await offered(ledger, swapped), swapped).toContainEqual(['PXSV9', 'two neighbours swapped']);
    }
  });

  it('any two illegible characters are filled in, but only offered', async () => {
    const ledger = await garden();
    for (let first = 0; first < 5; first++) {
      for (let second = first; second < 5; second++) {
        const text = [...'PXSV9'].with(first, '?').with(second, '?').join('');
        expect(await offered(ledger, text), text).toEqual([['PXSV9', 'illegible characters filled in']]);
      }
    }
  });

  it('three or four illegible characters list what is enrolled and fits', async () => {
    const ledger = await garden();
    expect((await offered(ledger, 'P?S??')).map(([id]) => id)).toEqual(['PXSV9']);
    expect((await offered(ledger, '????7')).map(([id]) => id)).toEqual(['DZK67']);
    expect(await offered(ledger, '?????')).toEqual([]);
  });

  it('a plant that is not enrolled is never offered', async () => {
    const ledger = await garden();
    for (const text of ['K7F??', 'K7FY6', '7KFY5', 'A????']) expect(await offered(ledger, text)).toEqual([]);
  });

  it('when more plants fit than a person can choose from, none is offered', async () => {
    const { ledger } = await ledgerWith(Array.from({ length: 900 }, (_, index) => seedling(`${index}`)));
    const [plant] = await ledger.plants({});
    const first = plant?.id.slice(0, 1) ?? '';
    const fitting = (await ledger.plants({})).filter(({ id }) => id.startsWith(first));
    expect(fitting.length).toBeGreaterThan(12);
    expect(await offered(ledger, `${first}????`)).toEqual([]);
  });
});

it('any text resolves without throwing, and to a plant only by that plant’s own ID', async () => {
  const ledger = await garden();
  const nearId = fc.string({ unit: fc.constantFrom(...'PXSV9DZK67?. -oOlIU'), maxLength: 9 });
  const text = fc.oneof(fc.string({ unit: 'binary' }), fc.string({ unit: 'grapheme' }), nearId);
  await fc.assert(
    fc.asyncProperty(text, async (anything) => {
      const resolution = await resolve(ledger, anything);
      const { plant } = resolution;
      whatToDo(resolution, ledger.idLength);
      const bare = anything
        .normalize('NFKC')
        .toUpperCase()
        .replace(/[\s\p{Pd}]/gu, '')
        .replace(/\.[0-9?]*$/, '');
      if (plant !== null) expect(bare).toBe(plant.id);
    }),
    { seed: 20261125, numRuns: 1500 },
  );
});

it('a text of a megabyte is no tag', async () => {
  const ledger = await garden();
  for (const part of ['a', '.', ' ', '-', '?', 'K7FY5.', '/']) {
    const text = part.repeat(1_000_000 / part.length);
    const resolution = await resolve(ledger, text);
    expect(resolution.status).toBe('not-a-tag');
    expect(whatToDo(resolution, 5)).toMatch(/5 characters/);
  }
});

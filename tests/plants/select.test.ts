import { describe, expect, it } from 'vitest';
import { InputError } from '../../src/errors.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { type Choice, choosePlants } from '../../src/plants/select.js';
import { ledgerWith, seedling } from '../support/ledger.js';

async function garden() {
  const made = await ledgerWith([
    seedling('a', { seedParent: 'Amber Tollhouse', pollenParent: 'Moth Captain', station: 'bench 1 / 1' }),
    seedling('b', { seedParent: 'Amber Tollhouse', pollenParent: null, station: 'bench 1 / 2' }),
    seedling('c', { kind: 'parent', station: 'bench 2 / 1' }),
    seedling('dead', { seedParent: 'Amber Tollhouse', pollenParent: 'Moth Captain', station: 'bench 1 / 3' }),
  ]);
  const [a, b, c, dead] = made.ids;
  if (!(a && b && c && dead)) throw new Error('four plants');
  await made.ledger.write('wren', async (writer) => {
    const place = { stock: 'x', sheet: 'x.pdf', page: 1, row: 1, column: 1 };
    await writer.append({ kind: 'tag-issued', body: { id: b, issue: 1, ...place } });
    const values = { alive: 'no' };
    await writer.append({
      kind: 'observed',
      body: { id: dead, issue: null, date: '2026-09-14', values, photo: null },
    });
  });
  return { ledger: made.ledger, a, b, c, dead };
}

const keys = async (ledger: Ledger, choice: Partial<Choice>) =>
  (await choosePlants(ledger, { ids: [], ...choice })).map(({ key }) => key);

describe('choosePlants', () => {
  it('those named come in the order named, once, the dead too', async () => {
    const { ledger, a, c, dead } = await garden();
    const ids = [c, a.toLowerCase(), `${dead}.1`, c];
    expect(await keys(ledger, { ids })).toEqual(['c', 'a', 'dead']);
  });

  it('groups come in the order of enrolment, without the dead', async () => {
    const { ledger } = await garden();
    expect(await keys(ledger, { all: true })).toEqual(['a', 'b', 'c']);
    expect(await keys(ledger, { untagged: true })).toEqual(['a', 'c']);
    expect(await keys(ledger, { kind: 'parent' })).toEqual(['c']);
    expect(await keys(ledger, { station: 'bench 1' })).toEqual(['a', 'b']);
    expect(await keys(ledger, { cross: 'Amber Tollhouse × Moth Captain' })).toEqual(['a']);
    expect(await keys(ledger, { cross: 'Amber Tollhouse x ?' })).toEqual(['b']);
  });

  it('every condition given must hold', async () => {
    const { ledger } = await garden();
    expect(await keys(ledger, { station: 'bench 1', untagged: true })).toEqual(['a']);
    expect(await keys(ledger, { station: 'bench 1', kind: 'graft' })).toEqual([]);
  });

  const refused: readonly (readonly [what: string, choice: Partial<Choice>, message: RegExp])[] = [
    ['nothing is chosen', {}, /--untagged/],
    ['IDs and a group are mixed', { ids: ['PXSV9'], all: true }, /IDs were given together/],
    ['the kind is none', { kind: 'tree' }, /"tree".*seedling/s],
    ['no plant stands there', { station: 'bnech 1' }, /"bnech 1".*bench 1/s],
    [
      'no plant is of the cross',
      { cross: 'Amber Tollhous × Moth Captain' },
      /Did you mean "Amber Tollhouse × Moth Captain"/,
    ],
    ['the cross has one side', { cross: 'Amber Tollhouse' }, /"Amber Tollhouse"/],
    ['an ID is of no plant', { ids: ['K7FY5'] }, /"K7FY5"/],
    ['an ID has a slip in it', { ids: ['PXSV?'] }, /"PXSV\?".*PXSV9/s],
  ];
  for (const [what, choice, message] of refused) {
    it(`when ${what}, refuses it and says what would do`, async () => {
      const { ledger } = await garden();
      const error = await keys(ledger, choice).catch((thrown: unknown) => thrown);
      expect(error).toBeInstanceOf(InputError);
      const { message: said, hint } = error as InputError;
      expect(`${said} ${hint}`).toMatch(message);
    });
  }
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { InputError } from '../../src/errors.js';
import type { Plant } from '../../src/ledger/model.js';
import { checkAgainstPlant, parseDay, parseValues, recordSeen } from '../../src/observe/observation.js';
import { ledgerWith, seedling } from '../support/ledger.js';

const TODAY = '2026-11-25';

function codeOf(work: () => unknown): string | undefined {
  try {
    work();
    return undefined;
  } catch (error) {
    if (error instanceof InputError) return error.code;
    throw error;
  }
}

describe('parseDay', () => {
  it('takes a day up to today', () => {
    expect(parseDay('2026-11-25', TODAY)).toBe('2026-11-25');
    expect(parseDay(' 2024-02-29 ', TODAY)).toBe('2024-02-29');
  });

  it('when the day is in the future, refuses it and says what day it is', () => {
    expect(codeOf(() => parseDay('2026-11-26', TODAY))).toBe('future-date');
    expect(() => parseDay('2026-11-26', TODAY)).toThrow(/2026-11-26.*2026-11-25/);
  });

  for (const text of ['', 'today', '14.9.2026', '2026-9-14', '2026-02-30', '2023-02-29']) {
    it(`"${text}" is no day`, () => {
      expect(codeOf(() => parseDay(text, TODAY))).toBe('bad-date');
    });
  }

  // A month 13 or a day 32 throws a RangeError: the command ends with 70, a session loses what was typed.
  it('a month or day that no calendar has is no day', () => {
    for (const text of ['2026-13-01', '2026-00-10', '2026-01-32', '2026-10-00']) {
      expect(codeOf(() => parseDay(text, TODAY))).toBe('bad-date');
    }
  });

  it('any text is a day or is refused as input', () => {
    const digits = fc.integer({ min: 0, max: 99 }).map((n) => `${n}`.padStart(2, '0'));
    const shaped = fc.tuple(digits, digits, digits).map(([y, m, d]) => `20${y}-${m}-${d}`);
    fc.assert(
      fc.property(fc.oneof(shaped, fc.string()), (text) => {
        const code = codeOf(() => parseDay(text, TODAY));
        expect([undefined, 'bad-date', 'future-date']).toContain(code);
      }),
      { seed: 20261125, numRuns: 500 },
    );
  });
});

describe('parseValues', () => {
  it('keeps what is given and leaves other options alone', () => {
    const typed = { brix: '18,5', fruit: 'ripe', date: '2026-09-14', by: 'wren', wood: undefined };
    expect(parseValues(typed)).toEqual({ brix: 18.5, fruit: 'ripe' });
  });

  it('when several are wrong, names every one of them', () => {
    const wrong = () => parseValues({ brix: '50', wood: 'green', liking: '8' });
    expect(codeOf(wrong)).toBe('bad-observation');
    expect(wrong).toThrow(
      expect.objectContaining({
        problems: [
          expect.objectContaining({ column: 'brix', problem: expect.stringMatching(/"50".*0 to 40/) }),
          expect.objectContaining({ column: 'wood', problem: expect.stringMatching(/"green".*new, old/) }),
        ],
      }),
    );
  });
});

describe('checkAgainstPlant', () => {
  const plant = (sown: string | null) => ({ id: 'K7FY5', sown }) as Plant;
  const cases: readonly (readonly [sown: string | null, date: string, ok: boolean])[] = [
    ['2024-03-10', '2024-03-10', true],
    ['2024-03-10', '2024-03-09', false],
    ['2024-03', '2024-03-01', true],
    ['2024-03', '2024-02-29', false],
    ['2024', '2024-01-01', true],
    ['2024', '2023-12-31', false],
    [null, '1999-01-01', true],
  ];
  for (const [sown, date, ok] of cases) {
    it(`sown ${sown ?? 'one does not know when'}, seen ${date}: ${ok ? 'taken' : 'refused'}`, () => {
      expect(codeOf(() => checkAgainstPlant(plant(sown), date))).toBe(ok ? undefined : 'before-sowing');
    });
  }
});

it('recordSeen returns the observation as it then stands in the ledger', async () => {
  const { ledger } = await ledgerWith([seedling('a')]);
  const [plant] = await ledger.plants({});
  if (plant === undefined) throw new Error('one plant');
  const seen = { date: '2026-09-14', values: { brix: 18.5, note: 'crisp' }, photo: null };
  const returned = await ledger.write('finch', (writer) => recordSeen(writer, { plant, issue: null }, seen));
  expect(await ledger.observations(plant.id)).toEqual([
    { ...returned, recordedAs: plant.id, byTag: true, doubtful: false },
  ]);
  expect(returned).toMatchObject({ by: 'finch', ...seen });
});

import { describe, expect, test } from 'vitest';
import { InputError } from '../../src/errors.js';
import { FIELDS, HEADING_WORDS, meaningOf } from '../../src/plants/heading-words.js';
import { mapHeadings } from '../../src/plants/headings.js';

const PLACE = { file: 'plants.csv', line: 1 };

/** Field → label of the column it was given. */
function map(headings: readonly string[], overrides: Readonly<Record<string, string>> = {}) {
  const columns = mapHeadings(headings, new Map(Object.entries(overrides)), PLACE);
  const fields = [...columns.fields].map(([field, index]) => [field, columns.labels[index]]);
  return {
    fields: Object.fromEntries(fields),
    extra: [...columns.extra].map((index) => columns.labels[index]),
  };
}

function refusal(headings: readonly string[], overrides: Readonly<Record<string, string>> = {}): InputError {
  try {
    map(headings, overrides);
  } catch (error) {
    if (error instanceof InputError) return error;
    throw error;
  }
  throw new Error('nothing was refused');
}

describe('the words', () => {
  test('each has one meaning only', () => {
    for (const [field, rank, headings] of HEADING_WORDS) {
      for (const heading of headings.split(',')) {
        expect([heading, meaningOf(heading)]).toEqual([heading, { field, rank }]);
      }
    }
  });

  test('each field is named by its own name', () => {
    for (const field of FIELDS) expect(meaningOf(field)).toEqual({ field, rank: 1 });
  });

  test.each(['weight', 'female count', 'variety', 'height', 'sown by', 'date', 'Art', 'Sorte'])(
    '%s means nothing certain',
    (heading) => {
      expect(meaningOf(heading)).toBeUndefined();
    },
  );
});

describe('headings that map themselves', () => {
  test.each([
    [
      'the names of the fields',
      ['key', 'id', 'seed_parent', 'pollen_parent', 'sown', 'kind', 'origin', 'station', 'type', 'note'],
    ],
    [
      'English',
      [
        'Tag No.',
        'ID',
        'MOTHER',
        'Father ',
        'Date_sown',
        'Plant kind',
        'Cutting of',
        'Location',
        'Fig type',
        'Remarks',
      ],
    ],
    ['signs', ['Label #', 'id', '♀', '♂', 'sowing date', 'kind', 'origin', 'bench', 'type', 'Comments']],
    [
      'camel case',
      [
        'PlantNumber',
        'plantId',
        'seedParent',
        'PollenParent',
        'sownOn',
        'Kind',
        'TakenFrom',
        'Place',
        'Type',
        'Notes',
      ],
    ],
    [
      'German',
      [
        'Etikett-Nr.',
        'ID',
        'Mutter',
        'Vater',
        'Gesät am',
        'Vermehrung',
        'Herkunft',
        'Standort',
        'Typ',
        'Bemerkung',
      ],
    ],
    [
      'French',
      [
        'Étiquette',
        'Id',
        'Mère',
        'Père',
        'Semé le',
        'Multiplication',
        'Origine',
        'Emplacement',
        'Type',
        'Remarques',
      ],
    ],
    [
      'Spanish',
      [
        'Etiqueta',
        'id',
        'Madre',
        'Padre',
        'Fecha de siembra',
        'Propagación',
        'Origen',
        'Ubicación',
        'Tipo',
        'Notas',
      ],
    ],
    [
      'Italian',
      [
        'Etichetta',
        'id',
        'madre',
        'padre',
        'Data di semina',
        'Propagazione',
        'Origine',
        'Posizione',
        'Tipo',
        'Note',
      ],
    ],
  ])('%s', (_, headings) => {
    const [key, id, seed_parent, pollen_parent, sown, kind, origin, station, type, note] = headings.map((h) =>
      h.trim(),
    );
    expect(map(headings)).toEqual({
      fields: { key, id, seed_parent, pollen_parent, sown, kind, origin, station, type, note },
      extra: [],
    });
  });

  test('"Female" and "Male" alone are the parents', () => {
    expect(map(['Tag', 'Female', 'Male']).fields).toEqual({
      key: 'Tag',
      seed_parent: 'Female',
      pollen_parent: 'Male',
    });
  });

  test('what is no field is kept, in its place', () => {
    expect(map(['Height', 'key', 'Leaf', '', 'Sweetness'])).toEqual({
      fields: { key: 'key' },
      extra: ['Height', 'Leaf', 'column 4', 'Sweetness'],
    });
  });

  test.each([
    [['Number', 'Name'], 'Name', ['Number']],
    [['Name', 'Tag no', 'Pot'], 'Tag no', ['Name', 'Pot']],
    [['Pot', 'Location'], 'Pot', []],
    [['No.', 'Key'], 'Key', ['No.']],
  ])('of %j the key is %s', (headings, key, extra) => {
    expect(map(headings)).toMatchObject({ fields: { key }, extra });
  });
});

describe('the cross', () => {
  test('tells the parents where no column does', () => {
    expect(map(['key', 'Cross']).fields).toEqual({ key: 'key', cross: 'Cross' });
    expect(map(['key', 'Parents']).fields).toEqual({ key: 'key', cross: 'Parents' });
  });

  test('is one more column where one does', () => {
    expect(map(['key', 'Cross', 'Mother'])).toEqual({
      fields: { key: 'key', seed_parent: 'Mother' },
      extra: ['Cross'],
    });
  });

  test('asked for beside parents is refused, unless they are left out', () => {
    expect(refusal(['key', 'Combination', 'Mother'], { cross: 'Combination' }).code).toBe(
      'cross-and-parents',
    );
    expect(map(['key', 'Combination', 'Mother'], { cross: 'Combination', seed_parent: '' })).toEqual({
      fields: { key: 'key', cross: 'Combination' },
      extra: ['Mother'],
    });
  });
});

describe('two headings for one field', () => {
  test('are both named, with the option that settles it', () => {
    const error = refusal(['key', 'Mother', 'Seed parent', 'Notes', 'Remarks']);
    expect(error.code).toBe('ambiguous-headings');
    expect(error.problems).toEqual([
      {
        line: 1,
        column: 'Mother',
        problem:
          '"Mother" and "Seed parent" can each be the seed_parent: give --column seed_parent="Mother" or --column seed_parent="Seed parent" to say which.',
      },
      expect.objectContaining({
        column: 'Notes',
        problem: expect.stringContaining('--column note="Remarks"'),
      }),
    ]);
  });

  test('the option settles it', () => {
    expect(map(['key', 'Mother', 'Seed parent'], { seed_parent: 'Seed parent' })).toEqual({
      fields: { key: 'key', seed_parent: 'Seed parent' },
      extra: ['Mother'],
    });
  });

  test('the key too, of words that say equally much', () => {
    expect(refusal(['Plant', 'Name']).message).toMatch(/"Plant" and "Name" can each be the key/);
  });

  test('the same heading twice is told apart by number', () => {
    expect(refusal(['key', 'Note', 'Note']).message).toMatch(
      /--column note="Note 1" or --column note="Note 2"/,
    );
    expect(map(['key', 'Note', 'Note'], { note: 'note 2' }).fields).toEqual({ key: 'key', note: 'Note 2' });
  });

  test('numbered and unnamed columns never share a label', () => {
    expect(map(['key', 'a', 'a', 'a 1', '', 'column 5', ' ']).extra).toEqual([
      'a 2',
      'a 3',
      'a 1',
      'column 6',
      'column 5',
      'column 7',
    ]);
  });
});

describe('--column', () => {
  test('maps a heading of any case to a field, which takes no other', () => {
    expect(map(['Our Code', 'Tag', 'Mother'], { key: 'our code' })).toEqual({
      fields: { key: 'Our Code', seed_parent: 'Mother' },
      extra: ['Tag'],
    });
  });

  test('takes a column from the field it would have been', () => {
    expect(map(['ID', 'Mother'], { key: 'ID' }).fields).toEqual({ key: 'ID', seed_parent: 'Mother' });
  });

  test('an exact heading goes before one of another case', () => {
    expect(map(['id', 'ID'], { key: 'ID' }).fields).toEqual({ key: 'ID', id: 'id' });
  });

  test('an empty heading leaves the field out', () => {
    expect(map(['key', 'Type'], { type: '' })).toEqual({ fields: { key: 'key' }, extra: ['Type'] });
    expect(refusal(['key'], { key: ' ' }).code).toBe('no-key');
  });

  test('the field may be written with spaces or hyphens', () => {
    expect(map(['key', 'M'], { 'Seed-Parent': 'M' }).fields).toEqual({ key: 'key', seed_parent: 'M' });
  });

  test('an unknown field is refused, the near one suggested', () => {
    const error = refusal(['key'], { pollen_parnet: 'key' });
    expect(error.code).toBe('unknown-field');
    expect(error.hint).toMatch(/^Did you mean pollen_parent\? .*seed_parent/);
  });

  test('an unknown heading is refused, the near one suggested and all listed', () => {
    const error = refusal(['key', 'Mothre', 'Height', ''], { seed_parent: 'Mother' });
    expect(error).toMatchObject({
      code: 'unknown-heading',
      hint: 'Did you mean --column seed_parent="Mothre"?',
    });
    expect(error.message).toMatch(/its headings are "key", "Mothre", "Height"\.$/);
  });

  test('a heading of which two differ only in case must be exact', () => {
    expect(refusal(['KEY', 'Key'], { key: 'key' })).toMatchObject({
      code: 'unknown-heading',
      hint: /exactly/,
    });
  });
});

describe('no key', () => {
  test('the headings are listed and the option shown', () => {
    const error = refusal(['Height', 'Mother']);
    expect(error.code).toBe('no-key');
    expect(error.message).toMatch(/"Height", "Mother"/);
    expect(error.hint).toMatch(/--column key="Height"/);
  });

  test("a grower's own ID is the likeliest", () => {
    expect(refusal(['Height', 'ID']).hint).toMatch(/--column key="ID"/);
  });

  test('very many headings are not all listed', () => {
    expect(refusal(Array.from({ length: 5000 }, (_, n) => `m${n}`)).message.length).toBeLessThan(500);
  });
});

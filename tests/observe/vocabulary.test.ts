import { describe, expect, it } from 'vitest';
import { allowedValues, findTrait, readTrait, TRAITS, type Trait } from '../../src/observe/vocabulary.js';

function trait(name: string): Trait {
  const found = findTrait(name);
  if (found === undefined) throw new Error(`no trait ${name}`);
  return found;
}

function read(name: string, text: string): string | number | undefined {
  const reading = readTrait(trait(name), text);
  return reading.kind === 'value' ? reading.value : undefined;
}

describe('numbers', () => {
  // brix 0-40 and liking 1-9 are the contract's; liking is the nine-point hedonic scale (Peryam & Pilgrim
  // 1957). The bounds of weight and height are common practice.
  const bounds: readonly (readonly [name: string, least: number, most: number, step: number])[] = [
    ['brix', 0, 40, 0.1],
    ['liking', 1, 9, 1],
    ['weight', 0.1, 5000, 0.1],
    ['height', 0.1, 5000, 0.1],
  ];
  for (const [name, least, most, step] of bounds) {
    it(`${name}: takes ${least} and ${most}, refuses what is below and above, and names both bounds`, () => {
      expect(read(name, `${least}`)).toBe(least);
      expect(read(name, `${most}`)).toBe(most);
      expect(read(name, (most + step).toFixed(1))).toBeUndefined();
      expect(read(name, (least - step).toFixed(1))).toBeUndefined();
      const reading = readTrait(trait(name), `${most + 1}`);
      const problem = reading.kind === 'problem' ? reading.problem : '';
      expect(problem).toContain(name);
      expect(problem).toContain(`"${most + 1}"`);
      expect(problem).toMatch(new RegExp(`\\b${least} to ${most}\\b`));
    });
  }

  it('a comma stands for the decimal point, and the unit may follow', () => {
    expect(read('brix', '18,5')).toBe(18.5);
    expect(read('brix', ' 18.5 °Bx ')).toBe(18.5);
    expect(read('weight', '62g')).toBe(62);
    expect(read('height', '140 cm')).toBe(140);
  });

  it('a liking is a whole number', () => {
    expect(read('liking', '8')).toBe(8);
    expect(read('liking', '7.5')).toBeUndefined();
  });

  const notNumbers = [
    '',
    ' ',
    '-1',
    '+5',
    '1e1',
    '0x10',
    '18.5.2',
    '1,000.5',
    'NaN',
    'Infinity',
    '18 g',
    '１８',
  ];
  for (const text of notNumbers) {
    it(`brix "${text}" is refused`, () => expect(read('brix', text)).toBeUndefined());
  }
});

describe('choices', () => {
  // The contract's values (design, section 3).
  const choices: Readonly<Record<string, string>> = {
    fruit: 'set swelling ripe dropped picked-unripe',
    wood: 'new old',
    pollination: 'none hand open unknown',
    inside: 'pulp stamens dry',
  };
  for (const [name, values] of Object.entries(choices)) {
    it(`${name}: takes each of its values in any case, and lists them all when it refuses one`, () => {
      for (const value of values.split(' ')) {
        expect(read(name, value)).toBe(value);
        expect(read(name, ` ${value.toUpperCase()} `)).toBe(value);
      }
      const reading = readTrait(trait(name), 'blue');
      if (reading.kind !== 'problem') throw new Error('blue was taken');
      for (const value of values.split(' ')) expect(reading.problem).toContain(value);
    });
  }

  it('"picked unripe" is picked-unripe', () => expect(read('fruit', 'Picked unripe')).toBe('picked-unripe'));

  it('alive: no', () => expect(read('alive', 'no')).toBe('no'));
});

describe('texts', () => {
  it('any words are taken, trimmed and in the composed form', () => {
    expect(read('flavour', '  Cafe\u0301, honey  ')).toBe('Café, honey');
    expect(read('note', 'two\nlines')).toBe('two\nlines');
  });

  it('empty, too long, or with control characters is refused', () => {
    expect(read('note', '   ')).toBeUndefined();
    expect(read('note', 'x'.repeat(2000))).toBe('x'.repeat(2000));
    expect(read('note', 'x'.repeat(2001))).toBeUndefined();
    expect(read('note', 'a\u0007b')).toBeUndefined();
    // Half of a character outside the basic plane (The Unicode Standard, 3.8): UTF-8 has no form for it.
    expect(read('note', 'a\ud83c')).toBeUndefined();
    expect(read('note', '\udf4fb')).toBeUndefined();
    expect(read('note', '\ud83c\udf4f')).toBe('\ud83c\udf4f');
  });

  // A refused text is quoted with its control characters, which a terminal obeys.
  it('the message about a refused text holds no control character', () => {
    const reading = readTrait(trait('note'), '\u001b[2Jgone');
    expect(reading.kind).toBe('problem');
    expect(reading.kind === 'problem' ? reading.problem : '').not.toMatch(/\p{Cc}/u);
  });

  it('a long refused text is shortened in the message', () => {
    const reading = readTrait(trait('note'), 'x'.repeat(5000));
    expect(reading.kind === 'problem' ? reading.problem.length : Infinity).toBeLessThan(200);
  });
});

it('a trait is found in any case, in the other spelling, and as a heading', () => {
  expect(findTrait('BRIX')?.name).toBe('brix');
  expect(findTrait('flavor')?.name).toBe('flavour');
  for (const heading of ['pulp-colour', 'Pulp colour', 'pulp_color']) {
    expect(findTrait(heading)?.name).toBe('pulp-colour');
  }
  for (const name of ['colour', '', '__proto__', 'constructor', 'toString'])
    expect(findTrait(name)).toBeUndefined();
});

it('every trait of the contract is there, and each says what it allows', () => {
  // Design, section 3: the observation values.
  const contract = 'fruit wood pollination inside brix weight liking flavour note height alive';
  // Added for types, crosses and keepers; for walks, whose contract names the leaf (design, section 3), and for
  // doubts, whose contract names the colour of the pulp.
  const names = `${contract} weather germinated keep name leaf pulp-colour`.split(' ');
  expect(TRAITS.map(({ name }) => name).sort()).toEqual(names.sort());
  for (const each of TRAITS) expect(allowedValues(each)).not.toBe('');
});

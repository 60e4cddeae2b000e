/**
 * What can be seen on a plant: the traits, their allowed values, their units.
 *
 * Sources: liking is the nine-point hedonic scale (Peryam & Pilgrim 1957). The other limits are wide
 * bounds of what can be true at all, against slips of the finger (common practice).
 */

export type Trait = { readonly name: string; readonly meaning: string } & (
  | { readonly kind: 'choice'; readonly values: readonly string[] }
  | {
      readonly kind: 'number';
      readonly unit: string | null;
      readonly least: number;
      readonly most: number;
      readonly whole: boolean;
    }
  | { readonly kind: 'text' }
);

export const TRAITS: readonly Trait[] = [
  {
    name: 'fruit',
    kind: 'choice',
    values: ['set', 'swelling', 'ripe', 'dropped', 'picked-unripe'],
    meaning: 'how far the fruit has come',
  },
  {
    name: 'wood',
    kind: 'choice',
    values: ['new', 'old'],
    meaning: 'the wood that bears it: new wood the main crop, old wood the breba crop',
  },
  {
    name: 'pollination',
    kind: 'choice',
    values: ['none', 'hand', 'open', 'unknown'],
    meaning: 'how the fruit was pollinated',
  },
  {
    name: 'inside',
    kind: 'choice',
    values: ['pulp', 'stamens', 'dry'],
    meaning: 'what it is like cut open: edible pulp, pollen-bearing stamens, or dry',
  },
  { name: 'pulp-colour', kind: 'text', meaning: 'the colour of the pulp, always in the same words' },
  {
    name: 'brix',
    kind: 'number',
    unit: '°Bx',
    least: 0,
    most: 40,
    whole: false,
    meaning: 'sugar of the juice',
  },
  {
    name: 'weight',
    kind: 'number',
    unit: 'g',
    least: 0.1,
    most: 5000,
    whole: false,
    meaning: 'weight of one fruit',
  },
  {
    name: 'liking',
    kind: 'number',
    unit: null,
    least: 1,
    most: 9,
    whole: true,
    meaning: 'taste, 1 dislike extremely, 5 neither, 9 like extremely',
  },
  {
    name: 'weather',
    kind: 'choice',
    values: ['frost', 'cold', 'heat', 'drought', 'storm'],
    meaning: 'what weather struck it; fruit that falls then says nothing of its type',
  },
  { name: 'flavour', kind: 'text', meaning: 'its flavour in your own words' },
  { name: 'note', kind: 'text', meaning: 'anything else' },
  { name: 'leaf', kind: 'text', meaning: 'the form of its leaves, always in the same words' },
  {
    name: 'height',
    kind: 'number',
    unit: 'cm',
    least: 0.1,
    most: 5000,
    whole: false,
    meaning: 'height of the plant',
  },
  { name: 'germinated', kind: 'choice', values: ['yes', 'no'], meaning: 'whether the seed came up' },
  {
    name: 'alive',
    kind: 'choice',
    values: ['yes', 'no'],
    meaning: 'whether it lives; "no" ends the plant, dead or culled',
  },
  {
    name: 'keep',
    kind: 'choice',
    values: ['yes', 'no'],
    meaning: 'your verdict: "yes" makes it a keeper, "no" takes that back or passes it over',
  },
  { name: 'name', kind: 'text', meaning: 'the name you give a keeper' },
];

/** Other spellings that people write. */
const SPELLINGS: Readonly<Record<string, string>> = { flavor: 'flavour', 'pulp-color': 'pulp-colour' };

const LONGEST_TEXT = 2000;
/** Control characters, and halves of characters (lone surrogates), which no file or database can hold as they are. */
const NOT_TEXT = /[\p{Cc}\p{Cs}]/u;

export type TraitReading =
  | { readonly kind: 'value'; readonly value: string | number }
  | { readonly kind: 'problem'; readonly problem: string };

/** In any case; a space or a low line may stand for the hyphen, as in the headings of a table. */
export function findTrait(name: string): Trait | undefined {
  const folded = name.toLowerCase().replaceAll(/[ _]/g, '-');
  return TRAITS.find((trait) => trait.name === (SPELLINGS[folded] ?? folded));
}

/** The allowed values in words: `set, swelling, ripe`, `0 to 40 °Bx`. */
export function allowedValues(trait: Trait): string {
  switch (trait.kind) {
    case 'choice':
      return trait.values.join(', ');
    case 'number':
      return `${trait.whole ? 'a whole number from ' : ''}${trait.least} to ${withUnit(trait, trait.most)}`;
    case 'text':
      return `up to ${LONGEST_TEXT} characters, of one line or more, no control characters`;
  }
}

/** `18.5 °Bx`; a value of a trait without a unit by itself. */
export function withUnit(trait: Trait, value: string | number): string {
  return trait.kind === 'number' && trait.unit !== null ? `${value} ${trait.unit}` : `${value}`;
}

/** Reads a value as typed; a comma may stand for the decimal point. */
export function readTrait(trait: Trait, text: string): TraitReading {
  const value = parseValue(trait, text.trim().replaceAll(/\r\n?/g, '\n'));
  if (value !== undefined) return { kind: 'value', value };
  const shown = (text.length > 40 ? `${text.slice(0, 40)}…` : text).replaceAll(/[\p{Cc}\p{Cs}]/gu, '�');
  return {
    kind: 'problem',
    problem: `${trait.name} "${shown}" is not allowed; it can be ${allowedValues(trait)}`,
  };
}

function parseValue(trait: Trait, text: string): string | number | undefined {
  switch (trait.kind) {
    case 'choice':
      return trait.values.find((value) => value === text.toLowerCase().replaceAll(' ', '-'));
    case 'number':
      return parseNumber(text, trait);
    case 'text':
      return text.length > 0 && text.length <= LONGEST_TEXT && !NOT_TEXT.test(text.replaceAll(/[\n\t]/g, ' '))
        ? text.normalize('NFC')
        : undefined;
  }
}

function parseNumber(
  text: string,
  { unit, least, most, whole }: Extract<Trait, { kind: 'number' }>,
): number | undefined {
  const bare = unit !== null && text.endsWith(unit) ? text.slice(0, -unit.length).trim() : text;
  if (!/^\d{1,6}([.,]\d{1,6})?$/.test(bare)) return undefined;
  const number = Number(bare.replace(',', '.'));
  return number >= least && number <= most && (!whole || Number.isInteger(number)) ? number : undefined;
}

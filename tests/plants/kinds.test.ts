import { expect, test } from 'vitest';
import { parseFigType, parseKind } from '../../src/plants/kinds.js';

test.each([
  ['seedling', 'seedling'],
  ['Seedlings', 'seedling'],
  ['SÄMLING', 'seedling'],
  ['semis', 'seedling'],
  ['cutting', 'cutting'],
  ['Rooted  cutting', 'cutting'],
  ['Steckling', 'cutting'],
  ['bouture', 'cutting'],
  ['esqueje', 'cutting'],
  ['talea', 'cutting'],
  ['grafted', 'graft'],
  ['Veredelung', 'graft'],
  ['greffé', 'graft'],
  ['injerto', 'graft'],
  ['innesto', 'graft'],
  ['Parent', 'parent'],
  ['stock-tree', 'parent'],
  ['Mutterpflanze', 'parent'],
  ['pied-mère', 'parent'],
  ['planta madre', 'parent'],
  ['pianta madre', 'parent'],
  ['shrub', undefined],
  ['', undefined],
])('kind %j is %s', (text, kind) => {
  expect(parseKind(text)).toBe(kind);
});

test.each([
  ['persistent female', 'persistent female'],
  ['Female, persistent', 'persistent female'],
  ['FEMALE-PERSISTENT', 'persistent female'],
  ['caducous caprifig', 'caducous caprifig'],
  ['male', 'caprifig'],
  ['caprifig (male)', 'caprifig'],
  ['persistent male', 'persistent caprifig'],
  ['female', 'female'],
  ['persistent', 'persistent'],
  ['caducous', 'caducous'],
  ['common', 'persistent female'],
  ['Common fig', 'persistent female'],
  ['Smyrna', 'caducous female'],
  ['smyrna female', 'caducous female'],
  // Contradictions, words of other trades, and a type that holds one crop and drops the other.
  ['female caprifig', undefined],
  ['persistent caducous', undefined],
  ['smyrna male', undefined],
  ['common caducous', undefined],
  ['san pedro', undefined],
  ['fig', undefined],
  ['dwarf female', undefined],
  ['--', undefined],
])('type %j is %s', (text, type) => {
  expect(parseFigType(text)).toBe(type);
});

import { describe, expect, it } from 'vitest';
import { judgeExchange } from '../../src/walk/exchange.js';
import { compare } from '../../src/walk/findings.js';
import { TraitKnowledge } from '../../src/walk/traits.js';
import { plantAt, spotAt, tagOf } from './spots.js';

const [A, B] = [plantAt(1, 'bench 1 / 1'), plantAt(2, 'bench 1 / 2')];
/** More plants, so that a leaf form is not a rarity. */
const OTHERS = [3, 4, 5, 6].map((n) => plantAt(n, `bench 1 / ${n}`));
const LEAVES = ['unlobed', 'five-lobed', 'unlobed', 'five-lobed', 'unlobed', 'five-lobed'];

/** A's tag hangs at B's place, and the other way round; these traits were seen at 1 and at 2. */
function judge(at1: Record<string, string>, at2: Record<string, string>, known = true) {
  const plants = [A, B, ...OTHERS];
  const seen = new Map(
    plants.map(({ id }, index) => [
      id,
      new Map([['leaf', { value: LEAVES[index] as string, date: '2026-05-01' }]]),
    ]),
  );
  const spots = [spotAt('bench 1 / 1', tagOf(B), at1), spotAt('bench 1 / 2', tagOf(A), at2)];
  const { findings } = compare(spots, { plants: [A, B], awaiting: new Set() });
  const [finding] = findings;
  if (finding?.kind !== 'exchanged') throw new Error('an exchange');
  const knowledge = new TraitKnowledge(plants, known ? seen : new Map(), '2026-10-17', { mean: 40, sd: 20 });
  return judgeExchange(finding, known ? ['leaf'] : [], knowledge);
}

describe('judgeExchange', () => {
  it('where the leaves are those of the tags, the pots moved', () => {
    const { what, potsMoved, because } = judge({ leaf: 'five-lobed' }, { leaf: 'unlobed' });
    expect(what).toBe('pots');
    expect(potsMoved).toBeGreaterThan(0.99);
    expect(because).toEqual([
      'bench 1 / 1: leaf five-lobed, as recorded',
      'bench 1 / 2: leaf unlobed, as recorded',
    ]);
  });

  it('where the leaves are those of the places, the tags changed', () => {
    const { what, potsMoved } = judge({ leaf: 'unlobed' }, { leaf: 'five-lobed' });
    expect(what).toBe('tags');
    expect(potsMoved).toBeLessThan(0.01);
  });

  it('without evidence it says so, and asks for what would settle it', () => {
    const { what, potsMoved, wouldSettle } = judge({}, {});
    expect(what).toBeNull();
    expect(potsMoved).toBe(0.5);
    expect(wouldSettle?.measurement).toMatchObject({
      trait: 'leaf',
      expect: [
        { id: B.id, value: 'five-lobed' },
        { id: A.id, value: 'unlobed' },
      ],
    });
  });

  it('evidence that contradicts itself settles nothing', () => {
    expect(judge({ leaf: 'five-lobed' }, { leaf: 'five-lobed' }).what).toBeNull();
  });

  it('where the ledger holds no trait, nothing is asked for', () => {
    expect(judge({ leaf: 'unlobed' }, {}, false)).toMatchObject({ what: null, wouldSettle: null });
  });
});

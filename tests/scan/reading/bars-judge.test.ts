/** What is weighed against the tags of a ledger, held against summing over every text. */
import { expect, it } from 'vitest';
import { packBarCodes, tagModules, VALUES } from '../../../src/scan/reading/bars-codes.js';
import { judgeBars, valueTable } from '../../../src/scan/reading/bars-judge.js';
import { seededRandom } from '../../support/random.js';

/** Texts as short as may be, so that all of their length can be summed over: start, three characters, check. */
const [GROUP] = packBarCodes(['A.1', 'B.7'], []) as [ReturnType<typeof packBarCodes>[number]];
const CHARACTERS = 3;
const MODULUS = 103;
const TRUST = 0.5;
const LOOK = { blurModules: 0.2, base: 0.5, gain: 0.5, off: 0.1 };

/** Modules of a text of no tag, a fifth of them hidden. */
function evidence() {
  const random = seededRandom(5);
  const shade = tagModules('D.7').map((dark) => 1 - dark + 0.15 * random.normal());
  const rows = shade.map(() => (random.next() < 0.2 ? 0 : 4));
  return { shade, rows, variance: shade.map(() => 0.01), believed: new Float64Array() };
}

/** Log-likelihoods of each place's values, weakened as the judge weakens them. */
const likelihoods = (() => {
  const { table } = valueTable(evidence(), LOOK, GROUP);
  return Array.from({ length: CHARACTERS + 2 }, (_, place) =>
    table.subarray(place * VALUES, (place + 1) * VALUES).map((log) => Math.exp(TRUST * log)),
  );
})();

const likelihoodOf = (values: ArrayLike<number>): number =>
  likelihoods.reduce((product, own, place) => product * (own[values[place] as number] as number), 1);

/** Sum over the three starts and all texts, with the check character of ISO/IEC 15417, Annex A. */
function ofEveryText(shares: readonly Float64Array[]): number {
  const own = shares.map((share, index) =>
    share.map((one, value) => one * (likelihoods[index + 1]?.[value] as number)),
  ) as [Float64Array, Float64Array, Float64Array];
  const [starts, checks] = [likelihoods[0], likelihoods[CHARACTERS + 1]] as [Float64Array, Float64Array];
  let sum = 0;
  for (let start = 103; start < 106; start++) {
    for (let a = 0; a < MODULUS; a++) {
      for (let b = 0; b < MODULUS; b++) {
        const first = ((starts[start] as number) / 3) * (own[0][a] as number) * (own[1][b] as number);
        for (let c = 0; c < MODULUS; c++) {
          sum += first * (own[2][c] as number) * (checks[(start + a + 2 * b + 3 * c) % MODULUS] as number);
        }
      }
    }
  }
  return sum;
}

/** How much likelier it is no tag than the first: how often each character is what it is changes one term alone. */
function oddsAgainstFirst(shares: readonly Float64Array[] | null): number {
  const valueShare = new Float64Array(GROUP.valueShare.length);
  shares?.forEach((share, index) => {
    valueShare.set(share, (index + 1) * VALUES);
  });
  const [first] = judgeBars({ ...GROUP, valueShare }, evidence(), LOOK).filter(({ text }) => text === 'A.1');
  return 1 / (first?.probability ?? 0);
}

it.each(['as often as another', 'as often as chance has it'])(
  'texts whose characters are each %s weigh as much as all of them together',
  (often) => {
    const random = seededRandom(9);
    const shares = Array.from({ length: CHARACTERS }, () =>
      new Float64Array(MODULUS).map(() =>
        often === 'as often as another' ? 1 / MODULUS : random.next() ** 4,
      ),
    );
    // As many tags of other ledgers are thought to be seen as of this one, which has two.
    const expected = ofEveryText(shares) / (likelihoodOf(GROUP.values) / 2);
    const found = oddsAgainstFirst(shares) - oddsAgainstFirst(null);
    expect(found / expected).toBeCloseTo(1, 6);
  },
);

/**
 * Merging is commutative, associative and idempotent: whatever field copies are merged in whatever states, in
 * whatever order and however often, and whatever is recorded at home before, between and after, the ledger at home
 * tells the same in the end, apart from the places of entries in its journal.
 */
import { cpSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { copyForField } from '../../src/archive/copy.js';
import { mergeCopy } from '../../src/archive/merge.js';
import type { PlantId } from '../../src/ids/plant-id.js';
import { checkLedger } from '../../src/ledger/check.js';
import type { NewEntry } from '../../src/ledger/entries.js';
import type { Ledger, LedgerReader } from '../../src/ledger/ledger.js';
import { openLedger } from '../../src/ledger/sqlite-ledger.js';
import { enrolInto, freshFolder, homeOf, ledgerWith, NOON, seedling } from '../support/ledger.js';

const quiet = () => {};
const DAYS = ['2026-09-01', '2026-09-02', '2026-09-03'] as const;

const plant = fc.nat(2);
const day = fc.constantFrom(...DAYS);
const seen = fc.record({
  what: fc.constant('see' as const),
  plant,
  day,
  values: fc.constantFrom({ alive: 'no' }, { alive: 'yes' }, { brix: 15 }, { brix: 20, fruit: 'ripe' }),
});
const takenBack = fc.record({
  what: fc.constantFrom('withdraw' as const, 'restore' as const),
  nth: fc.nat(3),
});
/** What a field copy may record. */
const inField = fc.oneof({ weight: 3, arbitrary: seen }, takenBack);
const atHome = fc.oneof(
  inField,
  fc.record({ what: fc.constant('exchange' as const), a: plant, b: plant, since: day, until: day }),
  fc.record({ what: fc.constant('doubt' as const), a: plant, b: plant, until: day }),
  fc.record({ what: fc.constant('place' as const), plant, station: fc.constantFrom('bench 1', 'bench 2') }),
  fc.record({
    what: fc.constant('sight' as const),
    plant,
    day,
    station: fc.constantFrom('bench 3', 'bench 4'),
  }),
);
type Step = typeof atHome extends fc.Arbitrary<infer T> ? T : never;

/** Who writes in a ledger, and takes back only what they recorded. */
class Recorder {
  readonly #own: { readonly entry: string; stands: boolean }[] = [];

  constructor(
    private readonly by: string,
    private readonly ids: readonly PlantId[],
  ) {}

  async record(folder: string, steps: readonly Step[]): Promise<void> {
    const ledger = openLedger(folder, NOON);
    try {
      for (const step of steps) {
        const entry = this.#entryOf(step);
        if (entry === undefined) continue;
        const { id } = await ledger.write(this.by, (writer) => writer.append(entry));
        if (entry.kind === 'observed') this.#own.push({ entry: id, stands: true });
      }
    } finally {
      ledger.close();
    }
  }

  #entryOf(step: Step): NewEntry | undefined {
    const id = (nth: number) => this.ids[nth] as PlantId;
    switch (step.what) {
      case 'see':
        return observed(id(step.plant), step.day, step.values);
      case 'sight':
        return observed(id(step.plant), step.day, { station: step.station });
      case 'place':
        return { kind: 'plant-amended', body: { id: id(step.plant), changes: { station: step.station } } };
      case 'exchange': {
        const [since, until] = [step.since, step.until].sort() as [string, string];
        if (step.a === step.b) return undefined;
        return { kind: 'exchanged', body: { a: id(step.a), b: id(step.b), since, until } };
      }
      case 'doubt':
        if (step.a === step.b) return undefined;
        return {
          kind: 'doubted',
          body: { plants: [id(step.a), id(step.b)], after: null, until: step.until },
        };
      case 'withdraw':
      case 'restore': {
        const own = this.#own.at(-1 - step.nth);
        if (own === undefined || own.stands !== (step.what === 'withdraw')) return undefined;
        own.stands = !own.stands;
        const { entry } = own;
        return own.stands
          ? { kind: 'restored', body: { entry } }
          : { kind: 'withdrawn', body: { entry, why: `a slip of ${this.by}` } };
      }
    }
  }
}

function observed(id: PlantId, date: string, values: Record<string, string | number>): NewEntry {
  return { kind: 'observed', body: { id, issue: null, date, values, photo: null } };
}

/** All that the ledger tells of its plants, but for numbers in the journal and what names an entry made twice. */
async function told(ledger: LedgerReader, ids: readonly PlantId[]): Promise<unknown> {
  const histories: unknown[] = [];
  for await (const history of ledger.histories({})) histories.push(history);
  const ofPlants = [];
  for (const id of ids) {
    ofPlants.push({
      plant: await ledger.plant(id),
      observations: await ledger.observations(id),
      withdrawn: await ledger.withdrawnObservations(id),
      doubts: await ledger.doubts(id),
      exchanges: await ledger.exchanges(id),
    });
  }
  const latest = [...(await ledger.latestValues(ids, '9999-12-31'))]
    .map(([id, values]) => [id, [...values].sort()])
    .sort();
  const all = { histories, ofPlants, latest };
  return JSON.parse(
    JSON.stringify(all, (key, value) => (['number', 'entry'].includes(key) ? undefined : value)),
  );
}

/** States of three copies, two of each, as they are when someone comes by to merge them. */
const STATES = 6;

const season = fc.record({
  first: fc.array(atHome, { maxLength: 5 }),
  later: fc.array(atHome, { maxLength: 5 }),
  recorded: fc.tuple(...Array.from({ length: STATES }, () => fc.array(inField, { maxLength: 4 }))),
  atLast: fc.array(atHome, { maxLength: 4 }),
  visits: fc.array(fc.nat(STATES - 1), { minLength: 2, maxLength: 7 }),
  otherVisits: fc.array(fc.nat(STATES - 1), { minLength: 2, maxLength: 7 }),
  between: fc.nat(3),
});

it('the ledger at home tells the same in whatever order, how often and in what states copies are merged', async () => {
  let [moved, taken, ended] = [0, 0, 0];
  await fc.assert(
    fc.asyncProperty(season, async ({ first, later, recorded, atLast, visits, otherVisits, between }) => {
      const place = freshFolder();
      const { ledger, ids } = await ledgerWith([seedling('a', { station: 'bench 0' }), seedling('b')]);
      // From here on all of them are ledgers in folders: what was a copy of a shared one is taken out of it.
      rmSync(join(ledger.folder, 'SHARED.txt'), { force: true });
      const more = await ledger.write('wren', (writer) => enrolInto(writer, 5, [seedling('c')]));
      const plants = [...ids, ...more];
      const home = new Recorder('wren', plants);
      await home.record(ledger.folder, first);
      const copy = (name: string) => copyForField(homeOf(ledger), join(place, name), name, 'wren', NOON);
      await copy('copy 0');
      await copy('copy 1');
      await home.record(ledger.folder, later);
      await copy('copy 2'); // Made later, of more.
      ledger.close();
      const recorders = [0, 1, 2].map((nth) => new Recorder(`copy ${nth}`, plants));
      for (const [state, steps] of recorded.entries()) {
        const name = `copy ${state % 3}`;
        await recorders[state % 3]?.record(join(place, name), steps);
        cpSync(join(place, name), join(place, `state ${state}`), { recursive: true });
      }
      const merged = async (name: string, order: readonly number[], homeWritesAt: number) => {
        const folder = join(place, name);
        cpSync(ledger.folder, folder, { recursive: true });
        const writing = new Recorder('wren', plants);
        for (const [turn, state] of order.entries()) {
          if (turn === homeWritesAt) await writing.record(folder, atLast);
          await merge(folder, join(place, `state ${state}`));
        }
        if (homeWritesAt >= order.length) await writing.record(folder, atLast);
        expect(checkLedger(folder, quiet).findings).toEqual([]);
        const whole = openLedger(folder, NOON);
        return await told(whole, plants).finally(() => whole.close());
      };
      // However they came by, in the end each copy is merged as it was last.
      const one = await merged('one', [...visits, 3, 4, 5], between);
      const other = await merged('other', [...otherVisits, 5, 4, 3], 3 - between);
      expect(other).toEqual(one);
      const text = JSON.stringify(one);
      moved +=
        /"recordedAs":"(\w+)"/.test(text) &&
        first.concat(later, atLast).some(({ what }) => what === 'exchange')
          ? 1
          : 0;
      taken += text.includes('a slip of copy') ? 1 : 0;
      ended += /"ended":"/.test(text) ? 1 : 0;
    }),
    // Every ledger opened keeps file handles until memory is collected, so that hundreds of smaller seasons are not tried.
    { seed: 20261125, numRuns: 25, endOnFailure: true },
  );
  // The seasons were not empty ones.
  expect(Math.min(moved, taken, ended)).toBeGreaterThan(3);
}, 240_000);

async function merge(folder: string, from: string): Promise<void> {
  const ledger: Ledger = openLedger(folder, NOON);
  await mergeCopy(ledger, from, 'wren', quiet).finally(() => ledger.close());
}

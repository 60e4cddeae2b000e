/**
 * Exchanges, reassignments, withdrawals and doubts, against a model of a few lines that keeps lists and
 * reckons everything anew each time.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { PlantId } from '../../src/ids/plant-id.js';
import { checkLedger } from '../../src/ledger/check.js';
import type { NewEntry } from '../../src/ledger/entries.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { ledgerWith, seedling } from '../support/ledger.js';

const DAYS = ['2026-05-01', '2026-06-01', '2026-07-01', '2026-08-01'] as const;
const STATIONS = ['bench 1', 'bench 2', 'bench 3'];

/** Small numbers that the interpreter below turns into entries about what is there at that point. */
const step = fc.record({
  kind: fc.constantFrom(
    'observe',
    'observe',
    'sight',
    'sight',
    'end',
    'place',
    'exchange',
    'exchange',
    'reassign',
    'doubt',
    'withdraw',
    'withdraw',
    'restore',
    'commit',
  ),
  plant: fc.nat(3),
  other: fc.nat(2),
  day: fc.nat(3),
  length: fc.nat(3),
  which: fc.nat(1000),
  withoutTag: fc.constantFrom(false, false, false, true),
});
type Step = typeof step extends fc.Arbitrary<infer T> ? T : never;

interface Seen {
  readonly id: string;
  readonly at: number;
  readonly recorded: number;
  readonly date: string;
  readonly byTag: boolean;
  readonly station?: string;
  readonly alive?: 'yes' | 'no';
}
type Correction = { readonly id: string; readonly at: number } & (
  | { readonly a: number; readonly b: number; readonly since: string; readonly until: string }
  | { readonly observation: string; readonly to: number }
);
interface Doubt {
  readonly id: string;
  readonly at: number;
  readonly plants: readonly number[];
  readonly after: string | null;
  readonly until: string;
}

/** What was said, in order; nothing else is remembered. */
class Model {
  readonly seen: Seen[] = [];
  readonly corrections: Correction[] = [];
  readonly doubts: Doubt[] = [];
  /** Plant → what was said of where it stands, apart from sightings. */
  readonly placed = new Map<number, { at: number; station: string }>();
  readonly withdrawn = new Set<string>();
  readonly targets: string[] = [];

  /** Which plant, and whether its tag tells so. */
  told(seen: Seen): { plant: number; byTag: boolean } {
    const { id, at, date } = seen;
    let { recorded: plant, byTag } = seen;
    for (const correction of this.corrections) {
      if (correction.at < at || this.withdrawn.has(correction.id)) continue;
      if ('observation' in correction) {
        if (correction.observation !== id) continue;
        plant = correction.to;
        byTag = false;
      } else if (byTag && date >= correction.since && date <= correction.until) {
        if (plant === correction.a) plant = correction.b;
        else if (plant === correction.b) plant = correction.a;
      }
    }
    return { plant, byTag };
  }

  isOpen(doubt: Doubt): boolean {
    if (this.withdrawn.has(doubt.id)) return false;
    const settled = this.corrections.flatMap((each) =>
      'a' in each &&
      each.at > doubt.at &&
      !this.withdrawn.has(each.id) &&
      doubt.plants.includes(each.a) &&
      doubt.plants.includes(each.b)
        ? [each.a, each.b]
        : [],
    );
    return doubt.plants.some((plant) => !settled.includes(plant));
  }

  plant(plant: number) {
    const own = this.seen
      .filter((one) => !this.withdrawn.has(one.id) && this.told(one).plant === plant)
      .sort((a, b) => (a.date === b.date ? a.at - b.at : a.date < b.date ? -1 : 1));
    const life = own.findLast(({ alive }) => alive !== undefined);
    const placed = this.placed.get(plant);
    const sighting = own.findLast(({ station, at }) => station !== undefined && at > (placed?.at ?? 0));
    return {
      ended: life?.alive === 'no' ? life.date : null,
      station: sighting?.station ?? placed?.station ?? null,
      seen: own.map((one) => ({
        entry: one.id,
        doubtful:
          this.told(one).byTag &&
          this.doubts.some(
            (doubt) =>
              this.isOpen(doubt) &&
              doubt.plants.includes(plant) &&
              (doubt.after === null || one.date > doubt.after) &&
              one.date <= doubt.until,
          ),
      })),
      withdrawn: this.seen
        .filter((one) => this.withdrawn.has(one.id) && this.told(one).plant === plant)
        .map(({ id }) => id)
        .sort(),
    };
  }
}

/** Tells the ledger and the model the same, in as many transactions as the steps say. */
async function play(ledger: Ledger, ids: readonly PlantId[], steps: readonly Step[]): Promise<Model> {
  const model = new Model();
  let at = ids.length + 1; // The entries before: the ledger's own and the plants'.
  const transactions = steps.reduce<Step[][]>(
    (all, one) => {
      if (one.kind === 'commit') all.push([]);
      else all.at(-1)?.push(one);
      return all;
    },
    [[]],
  );
  const idOf = (plant: number) => ids[plant] as PlantId;
  for (const transaction of transactions) {
    await ledger.write('wren', async (writer) => {
      const say = async (entry: NewEntry) => {
        at++;
        const recorded = await writer.append(entry);
        expect(recorded.number).toBe(at);
        return recorded.id;
      };
      for (const { kind, plant, other, day, length, which, withoutTag } of transaction) {
        const date = DAYS[day] as string;
        const until = DAYS[Math.min(day + length, 3)] as string;
        const second = (plant + 1 + other) % 4;
        const target = model.targets[which % (model.targets.length || 1)];
        const observed = model.seen[which % (model.seen.length || 1)];
        switch (kind) {
          case 'observe':
          case 'sight':
          case 'end': {
            const station = STATIONS[which % 3] as string;
            const alive = which % 2 === 0 ? 'no' : 'yes';
            const values = kind === 'sight' ? { station } : kind === 'end' ? { alive } : { brix: 18 };
            const how = withoutTag ? { withoutTag: true as const } : {};
            const body = { id: idOf(plant), issue: null, date, values, photo: null, ...how };
            const id = await say({ kind: 'observed', body });
            model.seen.push({ id, at, recorded: plant, date, byTag: !withoutTag, ...values } as Seen);
            model.targets.push(id);
            break;
          }
          case 'place': {
            const station = STATIONS[which % 3] as string;
            await say({ kind: 'plant-amended', body: { id: idOf(plant), changes: { station } } });
            model.placed.set(plant, { at, station });
            break;
          }
          case 'exchange': {
            const body = { a: idOf(plant), b: idOf(second), since: date, until };
            const id = await say({ kind: 'exchanged', body });
            model.corrections.push({ id, at, a: plant, b: second, since: date, until });
            model.targets.push(id);
            break;
          }
          case 'reassign': {
            if (observed === undefined) break;
            const body = { entry: observed.id, id: idOf(plant) };
            const id = await say({ kind: 'reassigned', body });
            model.corrections.push({ id, at, observation: observed.id, to: plant });
            model.targets.push(id);
            break;
          }
          case 'doubt': {
            const after = which % 5 === 0 ? null : date;
            const plants = [...new Set([plant, second, which % 4])];
            const body = { plants: plants.map(idOf), after, until };
            const id = await say({ kind: 'doubted', body });
            model.doubts.push({ id, at, plants, after, until });
            model.targets.push(id);
            break;
          }
          case 'withdraw':
            if (target === undefined) break;
            await say({ kind: 'withdrawn', body: { entry: target, why: 'a slip' } });
            model.withdrawn.add(target);
            break;
          case 'restore':
            if (target === undefined) break;
            await say({ kind: 'restored', body: { entry: target } });
            model.withdrawn.delete(target);
            break;
          default:
        }
      }
    });
  }
  return model;
}

async function told(ledger: Ledger, id: PlantId) {
  const plant = await ledger.plant(id);
  const seen = await ledger.observations(id);
  const withdrawn = await ledger.withdrawnObservations(id);
  return {
    ended: plant?.ended,
    station: plant?.station,
    seen: seen.map(({ entry, doubtful }) => ({ entry, doubtful })),
    withdrawn: withdrawn.map(({ entry }) => entry).sort(),
  };
}

const FOUR = ['a', 'b', 'c', 'd'].map((key) => seedling(key));

describe('whatever was said, in whatever order,', () => {
  it('the ledger tells what the model tells, and a replay of the journal the same', async () => {
    let corrections = 0;
    let doubtful = 0;
    await fc.assert(
      fc.asyncProperty(fc.array(step, { minLength: 5, maxLength: 60, size: 'max' }), async (steps) => {
        const { ledger, ids } = await ledgerWith(FOUR);
        const model = await play(ledger, ids, steps);
        for (const [plant, id] of ids.entries()) {
          const expected = model.plant(plant);
          expect(await told(ledger, id)).toEqual(expected);
          doubtful += expected.seen.filter((one) => one.doubtful).length;
        }
        corrections += model.corrections.length;
        expect(checkLedger(ledger.folder, () => {}).findings).toEqual([]);
        ledger.close();
      }),
      { seed: 20261125, numRuns: 60 },
    );
    expect(corrections).toBeGreaterThan(200);
    expect(doubtful).toBeGreaterThan(50);
  });
});

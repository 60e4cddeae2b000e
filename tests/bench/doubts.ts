/**
 * Doubts: how often an exchange is said where there was none, how many are found, and the speed of the whole
 * command. Seeds are fresh in each run.
 */
import { existsSync, mkdirSync, renameSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { columns } from '../../src/cli/console.js';
import { createLedger } from '../../src/ledger/sqlite-ledger.js';
import { DOUBTS } from '../../src/walk/doubts/parameters.js';
import { type DoubtsFigures, doubtsFiguresOf } from './doubts-figures.js';
import { REALISTIC, type SeenGarden, simulateSeen } from './doubts-simulator.js';
import { type BenchRow, byTurns, LAUNCHER, runNode } from './measure.js';
import { brierScore, reliability, type Share } from './walk-figures.js';

const ID_LENGTH = 6;
const BAR_SECONDS = 10;
const EXCHANGED = 0.02;

/** Five in a hundred leaves and colours misjudged. */
const NOISY = { ...REALISTIC, leafMisjudged: 0.05, colourMisjudged: 0.05 };

export async function benchDoubts(folder: string): Promise<BenchRow[]> {
  mkdirSync(folder, { recursive: true });
  const seed = Date.now() % 1_000_000_000;
  console.log(`doubts: seeds from ${seed}`);
  const rows: BenchRow[] = [];
  for (const [plants, gardens] of [
    [100, 100],
    [1000, 20],
    [10_000, 3],
  ] as const) {
    const name = plants.toLocaleString('en-GB');
    const none = await doubtsFiguresOf(gardens, plants, 0, NOISY, seed);
    console.log(
      `\n${gardens} gardens of ${name} plants without an exchange: ${none.falseAlarms} said, ${none.falseListed} perhaps`,
    );
    rows.push({
      what: `doubts of ${name} plants, nothing exchanged: said to be, a garden`,
      measured: (none.falseAlarms / gardens).toFixed(3),
      bar: `≤ ${DOUBTS.falseAlarms}`,
      holds: none.falseAlarms <= DOUBTS.falseAlarms * gardens,
    });
    const some = await doubtsFiguresOf(gardens, plants, EXCHANGED, REALISTIC, seed);
    tell(`${gardens} gardens of ${name} plants, 2 % exchanged`, some);
  }
  return [...rows, await speed(folder, 10_000)];
}

/** The whole process, on a ledger that is kept from run to run. */
async function speed(folder: string, plants: number): Promise<BenchRow> {
  const ledger = join(folder, `doubts-${plants}`);
  if (!existsSync(ledger)) {
    const making = `${ledger}.making`;
    rmSync(making, { recursive: true, force: true });
    await makeLedger(making, simulateSeen(plants, EXCHANGED, REALISTIC, 1, ID_LENGTH));
    renameSync(making, ledger);
  }
  const { found } = byTurns(3, {
    found: () => runNode([LAUNCHER, 'doubts', '--json', '--ledger', ledger], {}, 1),
  });
  return {
    what: `doubts of ${plants.toLocaleString('en-GB')} plants seen five times`,
    measured: `${found.seconds.toFixed(2)} s, ${found.peakMb.toFixed(0)} MB`,
    bar: `≤ ${BAR_SECONDS} s`,
    holds: found.seconds <= BAR_SECONDS,
  };
}

async function makeLedger(folder: string, { histories }: SeenGarden): Promise<void> {
  const ledger = await createLedger(folder, ID_LENGTH, 'bench', () => new Date('2026-10-17T12:00:00.000Z'));
  await ledger.write('bench', async (writer) => {
    for (const { plant } of histories) {
      const { ended: _ended, ...body } = plant;
      await writer.append({ kind: 'plant-enrolled', body });
    }
    for (const { plant, observations } of histories) {
      for (const { date, values, issue } of observations) {
        await writer.append({ kind: 'observed', body: { id: plant.id, issue, date, values, photo: null } });
      }
    }
  });
  ledger.close();
}

function tell(what: string, figures: DoubtsFigures): void {
  console.log(what);
  const shares: readonly (readonly [string, Share])[] = [
    ['exchanges listed, of all', figures.listed],
    ['  of those that left a trace on both plants', figures.tracesListed],
    ['  … and said beyond doubt', figures.tracesSaid],
    ['the days named hold the exchange', figures.days],
  ];
  console.log(columns(shares.map(([name, share]) => [name, percent(share)])));
  console.log(`Brier score ${brierScore(figures.said).toFixed(4)}; said, and so:`);
  const bins = reliability(figures.said).filter(({ count }) => count > 0);
  console.log(
    columns(
      bins.map(({ said, right, count }) => [said.toFixed(4), right.toFixed(4), `${count} doubts`], '  '),
    ),
  );
}

function percent({ right, of }: Share): string {
  return `${((100 * right) / Math.max(1, of)).toFixed(1)} % (${right} of ${of})`;
}

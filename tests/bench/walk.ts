/**
 * Design section 10, the walk: speed of the whole command, and how often it is right, with the reliability
 * of its probabilities, beside two plain ways of guessing. Seeds are fresh in each run.
 */
import { existsSync, mkdirSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { columns } from '../../src/cli/console.js';
import { type BenchRow, byTurns, LAUNCHER, runNode } from './measure.js';
import { brierScore, type Figures, figuresOf, reliability, type Share } from './walk-figures.js';
import { LOSS_AND_EXCHANGE, makeLedger, type Rates, STORM, simulate, WALKED } from './walk-simulator.js';

const ID_LENGTH = 6;
const BAR_SECONDS = 5;

export async function benchWalk(folder: string): Promise<BenchRow[]> {
  mkdirSync(folder, { recursive: true });
  const seed = Date.now() % 1_000_000_000;
  console.log(`walk: seeds from ${seed}`);
  const plain = await figuresOf(40, 1000, LOSS_AND_EXCHANGE, seed);
  const storm = await figuresOf(100, 500, STORM, seed + 1000);
  tell('1 % of tags lost, 1 % exchanged; 40 gardens of 1,000 stations', plain);
  tell('a storm; 100 gardens of 500 stations', storm);
  tell('a storm; 200 gardens of 50 stations', await figuresOf(200, 50, STORM, seed + 2000));
  return [
    await speed(folder, 1000, LOSS_AND_EXCHANGE, 3),
    await speed(folder, 10_000, LOSS_AND_EXCHANGE, 5),
    await speed(folder, 100_000, LOSS_AND_EXCHANGE, 1),
    await speed(folder, 10_000, STORM, 1),
    await oneBench(folder),
    atLeast('walk, 1 % lost and 1 % exchanged: proposals right', plain.proposals, 0.95),
    atLeast('walk after a storm: proposals right', storm.proposals, 0.95),
  ];
}

/** The whole process, on a ledger that is kept from run to run. */
async function speed(folder: string, stations: number, rates: Rates, rounds: number): Promise<BenchRow> {
  const isStorm = rates === STORM;
  const { ledger, csv } = await ledgerOf(folder, stations, rates);
  const walk = `${ledger}.csv`;
  writeFileSync(walk, csv);
  const args = [LAUNCHER, 'walk', walk, '--date', WALKED, '--json', '--ledger', ledger];
  const { found } = byTurns(rounds, { found: () => runNode(args, {}, 1) });
  const isBarred = stations === 10_000 && !isStorm;
  return {
    what: `walk of ${stations.toLocaleString('en-GB')} stations, ${isStorm ? 'after a storm' : '1 % lost, 1 % exchanged'}`,
    measured: `${found.seconds.toFixed(2)} s, ${found.peakMb.toFixed(0)} MB`,
    bar: isBarred ? `≤ ${BAR_SECONDS} s` : 'none',
    holds: !isBarred || found.seconds <= BAR_SECONDS,
  };
}

/** Of a garden of 100,000, one bench: what is not walked must not be paid for. */
async function oneBench(folder: string): Promise<BenchRow> {
  const { ledger, csv } = await ledgerOf(folder, 100_000, LOSS_AND_EXCHANGE);
  const walk = `${ledger}-bench.csv`;
  writeFileSync(walk, csv.split('\n').slice(0, 51).join('\n'));
  const args = [LAUNCHER, 'walk', walk, '--date', WALKED, '--json', '--ledger', ledger];
  const { found } = byTurns(3, { found: () => runNode(args, {}, 1) });
  return {
    what: 'walk of 50 of 100,000 stations',
    measured: `${found.seconds.toFixed(2)} s, ${found.peakMb.toFixed(0)} MB`,
    bar: 'none',
    holds: true,
  };
}

async function ledgerOf(folder: string, stations: number, rates: Rates) {
  const garden = simulate(stations, rates, 1, ID_LENGTH);
  const ledger = join(folder, `walk-${stations}${rates === STORM ? '-storm' : ''}`);
  if (!existsSync(ledger)) {
    const making = `${ledger}.making`;
    rmSync(making, { recursive: true, force: true });
    (await makeLedger(making, garden.plants, ID_LENGTH)).close();
    renameSync(making, ledger);
  }
  return { ledger, csv: garden.csv };
}

function atLeast(what: string, share: Share, bar: number): BenchRow {
  return { what, measured: percent(share), bar: `≥ ${bar * 100} %`, holds: share.right >= bar * share.of };
}

function tell(what: string, figures: Figures): void {
  console.log(`\n${what}`);
  const shares: readonly (readonly [string, Share])[] = [
    ['findings of the right kind', figures.findings],
    ['proposals right', figures.proposals],
    ['exchanges judged (pots or tags) rightly', figures.exchanges],
    ['plants recovered, proposed', figures.recovered],
    ['  by the likeliest plant, proposed or not', figures.likeliest],
    ['  by the nearest missing plant', figures.nearestMissing],
    ['  by traits alone', figures.traitsAlone],
  ];
  console.log(columns(shares.map(([name, share]) => [name, percent(share)])));
  console.log(`Brier score ${brierScore(figures.said).toFixed(4)}; said, and so (95 % interval):`);
  const bins = reliability(figures.said).filter(({ count }) => count > 0);
  const rows = bins.map(({ said, right, count, interval: { low, high } }) => [
    said.toFixed(4),
    right.toFixed(4),
    `(${low.toFixed(4)} to ${high.toFixed(4)})`,
    `${count} pots`,
  ]);
  console.log(columns(rows, '  '));
}

function percent({ right, of }: Share): string {
  return `${((100 * right) / of).toFixed(2)} % (${right} of ${of})`;
}

/**
 * The ranking for the grower.
 */
import type {
  CropKeepers,
  Estimate,
  FittedCriterion,
  Keepers,
  NamedKeeper,
  RankedSeedling,
} from '../breeding/keepers.js';
import { valueInWords } from '../report/criteria.js';
import { counted } from '../wording.js';
import { bold, columns, dim, green } from './console.js';
import { crossOf } from './json.js';
import { percent } from './words.js';

const EXPLAINED = `Each number is what the plant is predicted to be worth: its own fruit, drawn
toward its family the less was measured; how often it was is in brackets. Its true
rank is within "9 in 10" nine times in ten. "Outdone by" names a plant as good or
better in everything you weigh: no weights bring this one to the front.`;

export function keepersInWords({ crops, named }: Keepers, cautions: readonly string[]): string {
  const blocks = crops.flatMap((crop) => (crop.ranking.length > 0 ? [cropInWords(crop)] : []));
  const isNothing = blocks.length === 0 && named.length === 0;
  blocks.push(blocks.length === 0 ? 'No seedling has fruited yet: nothing to rank.' : dim(EXPLAINED));
  blocks.push(namedInWords(named));
  if (!isNothing) blocks.push(dim(cautions.join('\n')));
  return blocks.join('\n\n');
}

function cropInWords({ crop, criteria, ranking, living, caprifigs }: CropKeepers): string {
  const shown = criteria.flatMap((fitted, index) => (fitted.model === null ? [] : [{ fitted, index }]));
  const hasTypes = crop.hasFigTypes;
  const header = [
    'rank',
    '9 in 10',
    'ID',
    ...shown.map(({ fitted }) => fitted.criterion.name),
    ...(hasTypes ? ['pers. female'] : []),
  ];
  const rows = ranking.map((ranked) => [
    `${ranked.rank}`,
    `${ranked.rankLow}–${ranked.rankHigh}`,
    bold(ranked.plant.id),
    ...shown.map(({ fitted, index }) => estimateInWords(fitted, ranked.estimates[index])),
    ...(hasTypes ? [ranked.persistentFemale === null ? '?' : percent(ranked.persistentFemale)] : []),
  ]);
  const [head = '', ...lines] = columns([header.map((name) => dim(name)), ...rows], '  ').split('\n');
  const seedlings = lines.map(
    (line, index) => `${line}\n      ${whichPlant(ranking[index] as RankedSeedling)}`,
  );
  const more =
    living > ranking.length
      ? dim(`\n… and ${counted(living - ranking.length, 'seedling')} more (--top ${living})`)
      : '';
  const left = caprifigs > 0 ? `; ${counted(caprifigs, 'caprifig')} left out` : '';
  return [
    `${bold(`Seedlings of ${crop.name}`)}: ${counted(living, 'living seedling')} with fruit${left}`,
    [head, ...seedlings].join('\n') + more,
    weightsInWords(criteria),
  ].join('\n');
}

/** On a line of its own, for a terminal of 80 columns. */
function whichPlant({ plant, keep, name, outdoneBy }: RankedSeedling): string {
  const parts = [
    ...(keep === 'yes' ? [green(name ?? 'keeper')] : []),
    ...(keep === 'no' ? ['passed over'] : []),
    ...[crossOf(plant) ?? plant.key, plant.station].filter((part) => part !== null),
    ...(outdoneBy === null ? [] : [`outdone by ${outdoneBy}`]),
  ];
  return parts.map((part) => dim(part)).join(dim(' · '));
}

function estimateInWords(fitted: FittedCriterion, estimate: Estimate | null | undefined): string {
  if (estimate == null) return '';
  const { value, measurements } = estimate;
  return `${valueInWords(fitted, value)} ${dim(`(${measurements})`)}`;
}

function weightsInWords(criteria: readonly FittedCriterion[]): string {
  const weights = criteria.flatMap(({ criterion, weight, measurements }) =>
    measurements === 0 ? [] : [`${criterion.name}=${weight}`],
  );
  const missing = criteria.flatMap(({ criterion, measurements }) =>
    measurements === 0 ? [criterion.name] : [],
  );
  const not = missing.length === 0 ? '' : dim(`; not measured yet: ${missing.join(', ')}`);
  return `Weights, per standard deviation: ${weights.join(', ')}${not}`;
}

function namedInWords(named: readonly NamedKeeper[]): string {
  if (named.length === 0) return 'No keeper is named yet: pottag scan ID --keep yes --name "…" names one.';
  const lines = named.map(({ plant, name, since, cuttings }) => {
    const where = plant.ended === null ? plant.station : `ended ${plant.ended}`;
    const facts = [crossOf(plant) ?? plant.key, where, `since ${since}`].filter((fact) => fact !== null);
    const taken =
      cuttings.length === 0 ? 'no cuttings yet' : `cuttings ${cuttings.map(({ id }) => id).join(', ')}`;
    const title = name === null ? bold(plant.id) : `${bold(plant.id)}  ${green(name)}`;
    return `  ${title}\n      ${dim([...facts, taken].join(' · '))}`;
  });
  return `${bold('Keepers')}\n${lines.join('\n')}`;
}

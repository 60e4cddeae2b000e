/**
 * The seedlings most worth keeping, with how sure their ranks are.
 */
import type {
  CropKeepers,
  FittedCriterion,
  Keepers,
  NamedKeeper,
  RankedSeedling,
} from '../breeding/keepers.js';
import { counted, grouped } from '../wording.js';
import { axisName, valueInWords } from './criteria.js';
import { crossName } from './cross-names.js';
import { dayInWords, percent } from './figures.js';
import { frontPanel } from './front-plot.js';
import { type Html, type HtmlPart, html, name, panels, type Section, table } from './html.js';
import { rankPanel } from './rank-plot.js';

const MOST_LISTED = 25;
/** How many of each crop to rank: below the best, only where the crowd lies matters. */
export const MOST_RANKED = 300;
const MOST_NAMED = 40;

export function keepersSection({ crops, named }: Keepers): Section {
  const ranked = crops.filter(({ ranking }) => ranking.length > 0);
  const drawn = ranked.map((crop, index) => cropPart(crop, index, crops.length > 1));
  const body = html`
${ranked.length === 0 ? html`<p>No living seedling has fruited yet: nothing to rank.</p>` : html`<p>Living seedlings with fruit, ranked by what was tasted and measured on them and on their cuttings. A plant with little evidence is drawn toward its family, and its line is long: its true rank lies on it nine times in ten.</p>`}
${drawn.map(({ part }) => part)}
${namedPart(named)}`;
  return { id: 'keepers', title: 'Keepers', plots: drawn.reduce((sum, { plots }) => sum + plots, 0), body };
}

function cropPart(crop: CropKeepers, index: number, nameCrop: boolean): { part: Html; plots: number } {
  const top = crop.ranking.slice(0, MOST_LISTED);
  const weighed = crop.criteria.flatMap((fitted, place) =>
    fitted.model === null || fitted.weight === 0 ? [] : [{ fitted, place }],
  );
  const [first, second] = weighed
    .slice()
    .sort((a, b) => Math.abs(b.fitted.weight) - Math.abs(a.fitted.weight));
  const of = nameCrop ? ` of ${crop.crop.name}` : '';
  const ranks = rankPanel(top, crop.living, of, index);
  const front =
    first === undefined || second === undefined ? [] : [frontPanel(crop, first, second, of, index)];
  const weights = weighed.map(({ fitted }) => `${fitted.criterion.name} ${fitted.weight}`).join(', ');
  const part = html`
<p>${counted(crop.living, 'living seedling')}${of} with fruit${crop.caprifigs > 0 ? `; ${counted(crop.caprifigs, 'caprifig')} left out, whose fruit nobody eats` : ''}. Weights, for each standard deviation: ${weights}. <code>pottag keepers --weight</code> sets others.</p>
${panels([ranks, ...front])}
${table(
  `Table: the best ${top.length} seedlings${of}`,
  headings(crop),
  top.map((seedling) => rankRow(seedling, crop)),
  crop.living - top.length,
)}`;
  return { part, plots: 1 + front.length };
}

function measured({ criteria }: CropKeepers): { fitted: FittedCriterion; place: number }[] {
  return criteria.flatMap((fitted, place) => (fitted.model === null ? [] : [{ fitted, place }]));
}

function headings(crop: CropKeepers): string[] {
  return [
    'Rank',
    'Rank, 9 in 10',
    'ID',
    'Name',
    'Cross',
    'Station',
    ...measured(crop).map(({ fitted }) => `${axisName(fitted)} (${howOften(fitted)})`),
    ...(crop.crop.hasFigTypes ? ['Persistent female'] : []),
    'Outdone by',
    'Your verdict',
  ];
}

/** What the numbers in brackets count. */
function howOften({ criterion }: FittedCriterion): string {
  return criterion.name === 'held' ? 'fruits seen' : 'times measured';
}

function rankRow(seedling: RankedSeedling, crop: CropKeepers): HtmlPart[] {
  const { plant, rank, rankLow, rankHigh, estimates, persistentFemale, outdoneBy, keep } = seedling;
  return [
    rank,
    `${rankLow}–${rankHigh}`,
    plant.id,
    seedling.name === null ? '' : name(seedling.name),
    crossName(plant),
    plant.station === null ? '' : name(plant.station),
    ...measured(crop).map(({ fitted, place }) => {
      const estimate = estimates[place];
      return estimate == null ? '' : `${valueInWords(fitted, estimate.value)} (${estimate.measurements})`;
    }),
    ...(crop.crop.hasFigTypes ? [persistentFemale === null ? '?' : percent(persistentFemale)] : []),
    outdoneBy ?? '',
    keep === 'yes' ? 'keep' : keep === 'no' ? 'passed over' : '',
  ];
}

function namedPart(named: readonly NamedKeeper[]): Html {
  if (named.length === 0) {
    return html`<p>No keeper is named yet: <code>pottag scan ID --keep yes --name "…"</code> names one.</p>`;
  }
  const rows = named.slice(0, MOST_NAMED).map(({ plant, name: called, since, cuttings }) => {
    const where = plant.ended === null ? (plant.station ?? 'no station') : `ended ${plant.ended}`;
    return html`<li><strong>${plant.id}</strong>${called === null ? null : html` ${name(called)}`}, ${crossName(plant)}, ${name(where)}; keeper since ${dayInWords(since)}; ${
      cuttings.length === 0 ? 'no cuttings yet' : html`cuttings ${cuttings.map(({ id }) => id).join(', ')}`
    }</li>`;
  });
  const left = named.length - rows.length;
  return html`<h3>Named keepers</h3><ul>${rows}</ul>${left > 0 ? html`<p>… and ${grouped(left)} more: <code>pottag keepers</code> lists them.</p>` : null}`;
}

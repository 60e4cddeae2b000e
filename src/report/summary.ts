/**
 * The garden in a few sentences.
 */
import type { CrossesReport } from '../breeding/crosses.js';
import type { Keepers } from '../breeding/keepers.js';
import type { DoubtsReport } from '../walk/doubts/doubts.js';
import { counted, grouped } from '../wording.js';
import { crossName } from './cross-names.js';
import { dayInWords, percent } from './figures.js';
import type { Garden } from './garden.js';
import { type Html, type HtmlPart, html, listed, name, type Section } from './html.js';

export interface Gathered {
  readonly garden: Garden;
  readonly crosses: CrossesReport;
  readonly keepers: Keepers;
  /** Living plants without a current tag. */
  readonly untagged: number;
  readonly doubts: DoubtsReport['doubts'];
}

const MOST_NAMED = 8;

export function summarySection(gathered: Gathered): Section {
  const { garden, crosses } = gathered;
  const counts = Object.values(garden.counts);
  const enrolled = counts.reduce((sum, count) => sum + count.enrolled, 0);
  const alive = counts.reduce((sum, count) => sum + count.alive, 0);
  const named = gathered.keepers.named.length;
  const called = crosses.crosses.reduce(
    (sum, { types }) => sum + (types?.called.reduce((all, count) => all + count, 0) ?? 0),
    0,
  );
  const figures: readonly (readonly [number, string])[] = [
    [enrolled, 'plants'],
    [alive, 'alive'],
    [garden.fruited, 'seedlings fruited'],
    [called, 'types called'],
    [named, named === 1 ? 'keeper' : 'keepers'],
  ];
  const sentences = [
    plantsInWords(gathered),
    fruitInWords(gathered),
    keepersInWords(gathered.keepers),
    crossesInWords(crosses),
    tagsInWords(gathered),
    doubtsInWords(gathered),
  ].flatMap((sentence) => (sentence === null ? [] : [sentence]));
  const body = html`
<dl class="figures">${figures.map(([count, what]) => html`<div><dt>${what}</dt><dd>${grouped(count)}</dd></div>`)}</dl>
<ul class="lead">${sentences.map((sentence) => html`<li>${sentence}</li>`)}</ul>`;
  return { id: 'summary', title: 'At a glance', plots: 0, body };
}

function plantsInWords({ garden, crosses }: Gathered): Html {
  const { seedling, cutting, graft, parent } = garden.counts;
  const others = [
    ...(parent.enrolled > 0 ? [counted(parent.enrolled, 'parent')] : []),
    ...(cutting.enrolled > 0 ? [counted(cutting.enrolled, 'cutting')] : []),
    ...(graft.enrolled > 0 ? [counted(graft.enrolled, 'graft')] : []),
  ];
  const kinds = [
    `${counted(seedling.enrolled, 'seedling')} of ${counted(crosses.crosses.length, 'cross', 'crosses')}`,
    ...others,
  ];
  return html`${listed(kinds)} are in the ledger; ${grouped(seedling.alive)} of the seedlings are alive.`;
}

function fruitInWords({ garden, crosses }: Gathered): Html {
  if (garden.fruited === 0) return html`No seedling has fruited yet.`;
  const called = crosses.crosses
    .flatMap(({ types }) => types?.called ?? [])
    .reduce((sum, count) => sum + count, 0);
  const open = crosses.crosses.reduce((sum, { types }) => sum + (types?.open ?? 0), 0);
  const persistent = crosses.crosses.reduce(
    (sum, { persistentFemales }) => sum + (persistentFemales?.hits ?? 0),
    0,
  );
  const types =
    called + open === 0
      ? null
      : html` The type of ${counted(called, 'fig')} is called, ${grouped(open)} are open; <strong>${counted(persistent, 'persistent female')}</strong> so far.`;
  return html`<strong>${counted(garden.fruited, 'seedling')}</strong> ${garden.fruited === 1 ? 'has' : 'have'} fruited, the first in ${`${garden.firstFruitYear}`}.${types}`;
}

function keepersInWords({ crops, named }: Keepers): Html {
  const shown = named
    .slice(0, MOST_NAMED)
    .map(({ plant, name: called }) =>
      called === null ? html`${plant.id}` : html`${name(called)} (${plant.id})`,
    );
  const more = named.length > MOST_NAMED ? [html`${grouped(named.length - MOST_NAMED)} more`] : [];
  const kept =
    named.length === 0
      ? html`No keeper is named yet.`
      : html`<strong>${counted(named.length, 'keeper')}</strong>: ${listed([...shown, ...more])}.`;
  const next = crops.flatMap(
    ({ ranking }) => ranking.find(({ keep, outdoneBy }) => keep === null && outdoneBy === null) ?? [],
  );
  const promising = next.map(({ plant, rank, persistentFemale }) =>
    persistentFemale === null
      ? html`${plant.id} (rank ${rank})`
      : html`${plant.id} (rank ${rank}; ${percent(persistentFemale)} likely a persistent female)`,
  );
  return promising.length === 0 ? kept : html`${kept} Best without a verdict of yours: ${listed(promising)}.`;
}

function crossesInWords({ crosses }: CrossesReport): HtmlPart {
  const wrong = crosses.filter(({ ratioTests }) =>
    ratioTests.some(({ verdict }) => verdict === 'contradicts' || verdict === 'impossible'),
  );
  const tests = crosses
    .flatMap(({ ratioTests }) => ratioTests)
    .filter(({ verdict }) => verdict === 'contradicts' || verdict === 'agrees').length;
  if (wrong.length === 0)
    return tests === 0
      ? null
      : html`No cross contradicts what was expected of it (${counted(tests, 'test')}).`;
  const names = wrong.slice(0, MOST_NAMED).map(({ tally }) => crossName(tally));
  const more = wrong.length > MOST_NAMED ? [html`${grouped(wrong.length - MOST_NAMED)} more`] : [];
  return html`The types of ${listed([...names, ...more])} do not agree with what was expected. Of ${counted(tests, 'test')} at p 0.05, one in twenty disagrees by chance alone.`;
}

function tagsInWords({ untagged }: Gathered): HtmlPart {
  return untagged === 0
    ? null
    : html`${counted(untagged, 'living plant')} ${untagged === 1 ? 'has' : 'have'} no tag that counts: <code>pottag tags --untagged</code> prints them.`;
}

function doubtsInWords({ doubts, garden }: Gathered): Html {
  const { observations, plants } = garden.doubtful;
  const aside =
    observations === 0
      ? null
      : html` ${counted(observations, 'observation')} of ${counted(plants, 'plant')} may be another plant’s and ${observations === 1 ? 'is' : 'are'} left out here until you settle it.`;
  const open = doubts.length;
  return open === 0
    ? html`No history contradicts itself as exchanged tags would.${aside}`
    : html`<strong>${counted(open, 'pair')} of plants</strong> may have worn each other’s tags: <code>pottag doubts</code> says which.${aside}`;
}

/** `As of 25 November 2026`. */
export function asOf(today: string): string {
  return `As of ${dayInWords(today)}`;
}

/**
 * What a walk found, for the grower: grouped by what to do, in the order of walking.
 */
import { measurementInWords } from '../walk/evidence.js';
import type { Exchange } from '../walk/exchange.js';
import type { Finding, FindingKind } from '../walk/findings.js';
import { exchangesThatPutRight, type HungWrong } from '../walk/hung-wrong.js';
import { WALK } from '../walk/parameters.js';
import type { Proposal, WalkReport } from '../walk/walk.js';
import { counted, quote } from '../wording.js';
import { bold, dim, green, yellow } from './console.js';
import { percent } from './words.js';

const GROUPS: readonly { readonly kinds: readonly FindingKind[]; readonly title: string }[] = [
  { kinds: ['exchanged', 'rotated'], title: "Tags in each other's places" },
  { kinds: ['moved', 'first-place'], title: 'Elsewhere than the ledger has them (--apply writes where)' },
  { kinds: ['tag-missing', 'unreadable'], title: 'Pots without a tag that can be read' },
  { kinds: ['superseded', 'void', 'unissued', 'duplicate', 'ended', 'stranger'], title: 'Tags to look at' },
  { kinds: ['pot-missing'], title: 'Plants not found (if one is dead: pottag scan ID --alive no)' },
  { kinds: ['not-visited'], title: 'Stations left out of a row that was walked' },
];

/** @param days for each exchanged or rotated finding */
export function walkInWords(report: WalkReport, days: ReadonlyMap<Finding, HungWrong>): string {
  const { outside } = report;
  const { findings } = report.comparison;
  const count = (kind: FindingKind) => findings.filter((finding) => finding.kind === kind).length;
  const summary = [
    `${counted(report.spots.length, 'row')} walked: ${green(`${counted(count('in-place'), 'station')} in order`)}`,
    ...(count('awaiting-tag') > 0 ? [`${counted(count('awaiting-tag'), 'pot')} waiting for a tag`] : []),
    ...(outside > 0 ? [dim(`${counted(outside, 'plant')} elsewhere, not in this walk`)] : []),
  ];
  const blocks = GROUPS.flatMap(({ kinds, title }) => {
    const own = findings.filter(({ kind }) => kinds.includes(kind));
    if (own.length === 0) return [];
    return [
      `\n${yellow(bold(title))}\n${own.map((finding) => findingInWords(finding, report, days.get(finding))).join('\n')}`,
    ];
  });
  return [`${summary.join(', ')}.`, ...blocks].join('\n');
}

function findingInWords(finding: Finding, report: WalkReport, days: HungWrong | undefined): string {
  const { kind, spots, plants } = finding;
  const [spot, plant] = [spots[0], plants[0]];
  const where = spot?.station ?? plant?.station ?? '';
  const lines = [`  ${bold(where)}  ${whatIsThere(finding)}${perhapsAt(finding, report)}`];
  const exchange = report.exchanges.get(finding);
  if (exchange !== undefined) lines.push(...exchangeInWords(exchange));
  if (exchange?.what === 'tags' && days !== undefined) lines.push(...putRightInWords(finding, days));
  for (const proposal of report.proposals) {
    if (spots.includes(proposal.pot.spot)) lines.push(...proposalInWords(proposal, kind === 'duplicate'));
  }
  return lines.join('\n');
}

/** Where a missing plant may stand. */
function perhapsAt({ kind, plants: [plant] }: Finding, { proposals }: WalkReport): string {
  if (kind !== 'pot-missing') return '';
  const likely = proposals.find((proposal) => proposal.plant?.id === plant?.id);
  return likely === undefined ? '' : `; perhaps the pot at ${likely.pot.spot.station}`;
}

function whatIsThere({ kind, spots, plants }: Finding): string {
  const [spot, plant] = [spots[0], plants[0]];
  const id = plant === undefined ? '' : bold(plant.id);
  const scanned = spot?.scanned ?? '';
  switch (kind) {
    case 'exchanged':
    case 'rotated':
      return spots
        .map(
          ({ station }, index) => `${index === 0 ? '' : `${station} `}has ${bold(plants[index]?.id ?? '')}`,
        )
        .join('; ');
    case 'moved':
      return `${id}, which stood at ${plant?.station}`;
    case 'first-place':
      return `${id}, of which no station was known`;
    case 'tag-missing':
      return plant === undefined ? 'no tag' : `no tag; ${id} is expected`;
    case 'unreadable':
      return `the tag reads ${quote(scanned)}${plant === undefined ? '' : `; ${id} is expected`}`;
    case 'superseded':
      return `the old tag ${scanned}: take it off, a newer one was printed`;
    case 'void':
      return `the tag ${scanned} was given up: take it off`;
    case 'unissued':
      return `${scanned} was never printed from this ledger`;
    case 'duplicate':
      return `the tag of ${id} hangs at ${spots.map(({ station }) => station).join(' and ')}`;
    case 'ended':
      return `${scanned} is the tag of a plant taken for dead; if it lives: pottag scan ID --alive yes`;
    case 'stranger':
      return `${quote(scanned)}: no tag of this ledger`;
    case 'pot-missing':
      return spot === undefined ? `${id} is not there; another pot is` : `${id} is not there`;
    case 'not-visited':
      return id;
    default:
      return id;
  }
}

function exchangeInWords({ what, potsMoved, because, wouldSettle }: Exchange): string[] {
  const share = percent(what === 'tags' ? 1 - potsMoved : potsMoved);
  const lines = because.map((words) => `    ${words}`);
  if (what === 'pots') {
    const todo =
      potsMoved >= WALK.certain
        ? '--apply writes where they stand'
        : 'put them back, or accept each where it stands';
    return [...lines, `    The pots moved, with their tags (${share}): ${todo}.`];
  }
  if (what === 'tags')
    return [...lines, `    The tags changed places, not the pots (${share}): change them back.`];
  const ask =
    wouldSettle === null
      ? 'Nothing the ledger holds of these plants tells.'
      : `Note at ${wouldSettle.spot.station} the ${measurementInWords(wouldSettle.measurement)}.`;
  return [...lines, `    Did the pots move, or the tags? ${ask}`];
}

/** The commands to give once the tags are changed back, or instead. */
function putRightInWords(finding: Finding, { after, until, observations }: HungWrong): string[] {
  const commands = (more: string) =>
    exchangesThatPutRight(finding).map(
      ([a, b]) => `      ${bold(`pottag exchange ${a.id} ${b.id} ${more}`)}`,
    );
  if (observations === 0) return ['    Or print new ones instead:', ...commands(`--since ${until}`)];
  const when = after === null ? `by ${until}` : `after ${after}, by ${until}`;
  return [
    `    ${counted(observations, 'observation')} may be the other plant's. Say since when they hung wrong (${when}):`,
    ...commands('--since DAY --hung-back'),
  ];
}

function proposalInWords(proposal: Proposal, namesStation: boolean): string[] {
  const { pot, plant, probability, because, runnerUp, none, isProposed, wouldSettle } = proposal;
  const where = namesStation ? `${pot.spot.station}: ` : '';
  if (plant === null) return [`    ${where}None of the plants looked for is likely here.`];
  const found = `${bold(plant.id)} ${percent(probability)}`;
  if (isProposed) return [`    ${where}${green('It is')} ${found}: ${because.join('; ')}`];
  const rivals = [
    ...(runnerUp === null ? [] : [`${runnerUp.plant.id} ${percent(runnerUp.probability)}`]),
    `none of the plants looked for ${percent(none)}`,
  ];
  return [
    `    ${where}Not certain: ${found} (${because.join('; ')}), ${rivals.join(', ')}`,
    wouldSettle === null
      ? '    Nothing the ledger holds of them tells more; keep the pot apart until leaf or fruit does.'
      : `    Note the ${measurementInWords(wouldSettle)}.`,
  ];
}

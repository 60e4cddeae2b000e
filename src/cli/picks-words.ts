/**
 * What hangs, as a list to walk along.
 */
import type { Group, Pick, Picks, RipeningTimes } from '../breeding/picks.js';
import { counted } from '../wording.js';
import { bold, columns, dim, green, red, yellow } from './console.js';
import { crossOf } from './json.js';

const TITLES: readonly {
  readonly group: Group;
  readonly title: string;
  readonly style: (text: string) => string;
}[] = [
  { group: 'pick', title: 'Pick before the frost', style: red },
  { group: 'cover', title: 'Can wait under cover', style: yellow },
  { group: 'too far off', title: 'Too far off to ripen', style: dim },
  { group: 'ripe', title: 'Ripe, or due', style: green },
  { group: 'soon', title: 'Within two weeks', style: yellow },
  { group: 'later', title: 'Later', style: dim },
];

export function picksInWords({ today, frost, times, picks }: Picks): string {
  if (picks.length === 0) return 'No fruit hangs, as far as it was recorded (pottag scan ID --fruit set).';
  const blocks = TITLES.flatMap(({ group, title, style }) => {
    const own = picks.filter((pick) => pick.group === group);
    if (own.length === 0) return [];
    const lines = columns(
      own.map((pick) => row(pick, frost)),
      '  ',
    ).split('\n');
    const plants = lines.map((line, index) => `${line}\n      ${dim(whichFruit(own[index] as Pick))}`);
    const when = group !== 'pick' ? '' : frost === today ? ', tonight' : ` of ${frost}`;
    return [`${style(bold(title + when))}: ${counted(own.length, 'plant')}\n${plants.join('\n')}`];
  });
  return [...blocks, ripeningInWords(times)].join('\n\n');
}

function row({ plant, wave, isOverdue, ripe, chanceRipe }: Pick, frost: string | null): string[] {
  const isSure = wave.state === 'ripe' || isOverdue;
  return [
    plant.station ?? dim('no station'),
    bold(plant.id),
    wave.state === 'ripe'
      ? green(`ripe since ${wave.firstRipe}`)
      : isOverdue
        ? yellow('overdue: look at it')
        : `ripe ${dayInWords(ripe.median)} (${dayInWords(ripe.early)} to ${dayInWords(ripe.late)})`,
    frost === null || isSure ? '' : `${wholePercent(chanceRipe)} by then`,
  ];
}

/** Neither certainty nor none at all can be foretold. */
function wholePercent(chance: number): string {
  if (chance > 0.99) return 'over 99 %';
  return chance < 0.01 ? 'under 1 %' : `${Math.round(chance * 100)} %`;
}

/** On a line of its own, for a terminal of 80 columns. */
function whichFruit({ plant, wave }: Pick): string {
  const since = wave.seenAs === 'set' ? `set ${wave.since}` : `first seen ${wave.seenAs} ${wave.since}`;
  const wood = wave.wood === null ? null : `${wave.wood} wood`;
  return [crossOf(plant) ?? plant.key, wood, since].filter((part) => part !== null).join(' · ');
}

function dayInWords(day: string | null): string {
  return day ?? 'later than can be told';
}

function ripeningInWords(times: readonly RipeningTimes[]): string {
  const lines = times.map((time) => {
    const { crop, wood, medianDays, earlyDays, lateDays, source, ripened, from } = time;
    const hasWoods = crop.ripening.some((usual) => usual.wood !== null);
    const which = `${crop.name}${wood !== null ? ` on ${wood} wood` : hasWoods ? ', wood not noted' : ''}`;
    const own =
      from === 'ledger' || ripened === 0 ? '' : `; ${ripened} of this ledger so far, ten are needed`;
    const offPlant =
      crop.ripensOffPlantDays === 0
        ? ''
        : `; picked ${crop.ripensOffPlantDays} days early it still becomes good`;
    return [
      `  ${which}: ${medianDays ?? '?'} days from set to ripe (${earlyDays ?? '?'} to ${lateDays ?? '?'})${offPlant}`,
      `    ${source}${own}`,
    ].join('\n');
  });
  return dim(['Reckoned with:', ...lines, 'In brackets: nine in ten ripen between these days.'].join('\n'));
}

/**
 * Doubts, for the grower: which two plants, since when, what contradicts, how sure, what to do.
 */
import { valuesInWords, whatTellsThem, whyExchanged } from '../walk/doubts/because.js';
import { observationsOf } from '../walk/doubts/contradictions.js';
import type { DoubtsReport } from '../walk/doubts/doubts.js';
import type { GardenTraits } from '../walk/doubts/garden.js';
import { TYPE } from '../walk/doubts/one-plant.js';
import { DOUBTS } from '../walk/doubts/parameters.js';
import { strengthOf } from '../walk/doubts/strength.js';
import type { Verdict } from '../walk/doubts/verdicts.js';
import { counted } from '../wording.js';
import { bold, dim, green, yellow } from './console.js';
import { exchangeCommand } from './doubts-json.js';
import { percent, plantInWords } from './words.js';

/** More contradictions than this are only counted; --json has them all. */
const MOST_SHOWN = 20;

export function doubtsInWords({ doubts, contradictions, garden, pairsConsidered }: DoubtsReport): string {
  const said = doubts.filter(({ isSaid }) => isSaid);
  const perhaps = doubts.filter(({ isSaid }) => !isSaid);
  const considered = `${counted(pairsConsidered, 'pair')} of plants considered`;
  const blocks = [
    doubts.length === 0
      ? `${green(bold('No doubts'))}: no history that an exchange would explain better; ${considered}.`
      : `${yellow(bold(counted(doubts.length, 'doubt')))}; ${considered}.`,
    ...group('Wear each other’s tags', said, garden),
    ...group('Perhaps exchanged: look before you change anything', perhaps, garden),
    ...contradictionsInWords(contradictions),
  ];
  if (said.length > 0) {
    blocks.push(
      dim(
        `In ${1 / DOUBTS.falseAlarms} gardens without an exchange, fewer than one such finding is to be expected.`,
      ),
    );
  }
  return blocks.join('\n\n');
}

function group(title: string, verdicts: readonly Verdict[], garden: GardenTraits): string[] {
  if (verdicts.length === 0) return [];
  return [`${yellow(bold(title))}\n${verdicts.map((one) => verdictInWords(one, garden)).join('\n\n')}`];
}

function verdictInWords(verdict: Verdict, garden: GardenTraits): string {
  const { a, b, between, probability, logBayesFactor } = verdict;
  const lines = [
    b === null
      ? `  ${bold(a.plant.id)} wears another plant’s tag`
      : `  ${bold(a.plant.id)} and ${bold(b.plant.id)}`,
    `    ${a.plant.id}: ${plantInWords(a.plant)}`,
    ...(b === null ? [] : [`    ${b.plant.id}: ${plantInWords(b.plant)}`]),
    `    exchanged on some day from ${between.from} to ${between.to}`,
    ...whyExchanged(verdict, garden).map((line) => `    ${line}`),
    `    ${percent(probability)} likely; the Bayes factor is ${factor(logBayesFactor)}: ${strengthOf(logBayesFactor)}${strengthOf(logBayesFactor) === 'no evidence' ? '' : ' evidence'}`,
    ...nextStep(verdict, garden).map((line) => `    ${line}`),
  ];
  return lines.join('\n');
}

function nextStep(verdict: Verdict, garden: GardenTraits): string[] {
  const { b, isSaid, candidates } = verdict;
  const command = exchangeCommand(verdict);
  if (b === null || command === null) {
    const names = candidates.map(
      ({ history, probability }) => `${history.plant.id} (${percent(probability)})`,
    );
    const who =
      names.length === 0 ? 'Whose, nothing in the ledger tells.' : `Whose? Perhaps of ${names.join(', ')}.`;
    return [`${who} Look for the plant that it was before, and note what tells them apart.`];
  }
  if (isSaid) return [`${bold(command)} puts it right.`];
  const tells = whatTellsThem(verdict, garden);
  return [`${tells ?? 'Look at both plants'}. If they were exchanged:`, bold(command)];
}

type Contradiction = DoubtsReport['contradictions'][number];

function contradictionsInWords(contradictions: readonly Contradiction[]): string[] {
  if (contradictions.length === 0) return [];
  const lines = contradictions.slice(0, MOST_SHOWN).map(contradictionInWords);
  const more = contradictions.length - lines.length;
  if (more > 0) lines.push(`  and ${counted(more, 'more', 'more')}: --json lists them`);
  return [`${bold('Contradictions that no exchange explains')}\n${lines.join('\n')}`];
}

function contradictionInWords(contradiction: Contradiction): string {
  const { history, trait, perhaps } = contradiction;
  const or =
    perhaps === null
      ? ''
      : `; or exchanged with ${perhaps.b?.plant.id} since ${perhaps.since} (${percent(perhaps.probability)})`;
  const what = `  ${bold(history.plant.id)}  ${valuesInWords(trait, history.records, null)}`;
  return `${what}\n    ${dim(verdictOn(contradiction) + or)}`;
}

function verdictOn(contradiction: Contradiction): string {
  const { trait, kind, records } = contradiction;
  const days = records.map(({ date }) => date ?? 'your CSV');
  if (kind === 'changed') {
    const change = trait === TYPE ? 'another plant’s fruit' : 'a change for good (a sport, adult leaves)';
    return `otherwise since ${days[0]}: ${change}, or misjudged before or since`;
  }
  if (days.length > 1) return `one of ${days.join(', ')} is the odd one out; a new look would tell which`;
  const odd = `${days[0]} is the odd one out: misjudged or miswritten?`;
  const [first] = observationsOf(contradiction);
  return first === undefined ? odd : `${odd} pottag undo ${first.number} withdraws it`;
}

function factor(logBayesFactor: number): string {
  const value = Math.exp(logBayesFactor);
  if (value >= 1e6) return `about 10^${Math.floor(logBayesFactor / Math.LN10)}`;
  return `about ${Number(value.toPrecision(2)).toLocaleString('en-GB')}`;
}

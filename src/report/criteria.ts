/**
 * The criteria of the ranking in words.
 */
import type { FittedCriterion } from '../breeding/keepers.js';
import { dayOfYearInWords, percent } from './figures.js';

export function axisName({ criterion: { name: criterion, unit } }: FittedCriterion): string {
  return unit === '' || criterion === 'early' ? criterion : `${criterion}, ${unit}`;
}

const DAYS_A_YEAR = 365;

export function valueInWords({ criterion }: FittedCriterion, value: number): string {
  if (criterion.name === 'held') return percent(Math.min(1, Math.max(0, value)));
  if (criterion.name === 'early') return dayOfYearInWords(DAYS_A_YEAR - value);
  return criterion.name === 'weight' ? value.toFixed(0) : value.toFixed(1);
}

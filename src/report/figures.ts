/**
 * Numbers and days as the page writes them.
 */
import type { Share } from '../breeding/crosses.js';
import { shareInPercent } from '../wording.js';

/** `56 %`, `4.2 %`, not to be broken at the end of a line. */
export function percent(share: number): string {
  return shareInPercent(share).replace(' ', '\u00a0');
}

/** `9 of 16: 56 % (33 to 77 %)`. */
export function shareInWords({ hits, of, low, high }: Share): string {
  if (of === 0) return 'none yet';
  return `${hits} of ${of}: ${percent(hits / of)} (${intervalInWords(low, high)})`;
}

export function intervalInWords(low: number, high: number): string {
  return `${percent(low).replace('\u00a0%', '')} to ${percent(high)}`;
}

/** `25 November 2026`. */
export function dayInWords(day: string): string {
  return new Date(day).toLocaleDateString('en-GB', {
    day: 'numeric',
    month: 'long',
    year: 'numeric',
    timeZone: 'UTC',
  });
}

/** The first days of the months, and of the next year, in a year of 365 days. */
export const MONTHS = [1, 32, 60, 91, 121, 152, 182, 213, 244, 274, 305, 335, 366] as const;
const MONTH_NAMES = [
  'Jan',
  'Feb',
  'Mar',
  'Apr',
  'May',
  'Jun',
  'Jul',
  'Aug',
  'Sep',
  'Oct',
  'Nov',
  'Dec',
] as const;

/** `Sep` of any of its days, in a year of 365 days. */
export function monthName(dayOfYear: number): string {
  return MONTH_NAMES[MONTHS.findLastIndex((first) => first <= dayOfYear)] ?? '';
}

/** `12 Sep`, of a day of the year counted from 1 as in a year of 365 days. */
export function dayOfYearInWords(dayOfYear: number): string {
  const day = Math.min(365, Math.max(1, Math.round(dayOfYear)));
  const first = MONTHS.findLast((each) => each <= day) ?? 1;
  return `${day - first + 1}\u00a0${monthName(day)}`;
}

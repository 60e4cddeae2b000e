/**
 * How strong a Bayes factor is, in words: Kass & Raftery 1995, J. Am. Stat. Assoc. 90:773, section 3.2, the
 * scale of 2 ln B.
 */

export type Strength =
  | 'no evidence'
  | 'not worth more than a mention'
  | 'positive'
  | 'strong'
  | 'very strong';

export function strengthOf(logBayesFactor: number): Strength {
  if (logBayesFactor < 0) return 'no evidence';
  if (logBayesFactor < Math.log(3)) return 'not worth more than a mention';
  if (logBayesFactor < Math.log(20)) return 'positive';
  return logBayesFactor < Math.log(150) ? 'strong' : 'very strong';
}

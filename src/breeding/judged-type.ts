/**
 * The judgement on one fig: called or open, what would settle it, and when it was called.
 */
import { holdingLine } from '../observe/type-evidence.js';
import { CUT_FRUIT, FIG_TYPES, type FigType, type PerType } from '../observe/type-likelihoods.js';
import { dot, multiplied, of, perType, scaled } from './per-type.js';

/** From here on a type is called. */
export const CALLED_FROM = 0.95;

/** What to look at next, and how much it can be expected to tell. */
export interface WouldSettle {
  readonly look: 'unpollinated fruit on new wood' | 'a ripe fruit cut open';
  /** Expected gain in information on the type, in bits. */
  readonly gainBits: number;
  /** P(the type is called after it). */
  readonly chanceOfCall: number;
}

const WORTH_NAMING = 0.3;

/** A change of the call, and the observation that brought it. */
export interface Call {
  readonly date: string;
  /** Of the journal. */
  readonly entry: string;
  /** Null: it was open again. */
  readonly called: FigType | null;
  readonly probability: number;
}

/** The likeliest type, if it is likely enough to be called. */
export function calledType(posterior: PerType): FigType | null {
  const type = likeliest(posterior);
  return of(posterior, type) >= CALLED_FROM ? (FIG_TYPES[type] as FigType) : null;
}

export function likeliest(posterior: PerType): number {
  return posterior.indexOf(Math.max(...posterior));
}

/** The likeliest of the four is hardly likelier than if they were drawn by lot: it is not worth a name. */
export function nothingTells(posterior: PerType): boolean {
  return Math.max(...posterior) < WORTH_NAMING;
}

/** Null once the type is called. Each look is taken by itself. */
export function whatWouldSettle(posterior: PerType, hasBorne: boolean): WouldSettle | null {
  if (calledType(posterior) !== null) return null;
  const { held } = holdingLine('new', 'none', hasBorne ? 'later' : 'first');
  const fallen = perType((type) => 1 - of(held, type));
  const cut = CUT_FRUIT.filter(({ fruit, seen }) => fruit === 'ripe' && seen !== 'tasted');
  const looks = [
    judgeLook('unpollinated fruit on new wood', posterior, [held, fallen]),
    judgeLook(
      'a ripe fruit cut open',
      posterior,
      cut.map(({ probability }) => probability),
    ),
  ];
  return looks.sort((a, b) => b.gainBits - a.gainBits)[0] ?? null;
}

function judgeLook(look: WouldSettle['look'], prior: PerType, outcomes: readonly PerType[]): WouldSettle {
  let gainBits = entropyBits(prior);
  let chanceOfCall = 0;
  for (const likelihood of outcomes) {
    const probability = dot(prior, likelihood);
    const posterior = scaled(multiplied(prior, likelihood), 1 / probability);
    gainBits -= probability * entropyBits(posterior);
    if (calledType(posterior) !== null) chanceOfCall += probability;
  }
  return { look, gainBits, chanceOfCall };
}

function entropyBits(shares: readonly number[]): number {
  return shares.reduce((sum, share) => (share > 0 ? sum - share * Math.log2(share) : sum), 0);
}

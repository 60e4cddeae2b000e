/**
 * Which tag of the ledger aligned bars show, and how surely: against its other tags, tags of other ledgers,
 * any other Code 128, bars that follow no code, and no bars at all.
 */
import { CHARACTER_MODULES, code128Modules } from '../../codes/tag-code128.js';
import { softColours } from './bars-align.js';
import { type BarGroup, meanModules, QUIET, sumsOfValues, VALUES } from './bars-codes.js';
import type { BarEvidence } from './bars-evidence.js';
import { largest, logSumOf } from './numbers.js';
import type { Suspect } from './posterior.js';

/**
 * Of places where bars seem to stand, so many are taken to be of each kind before they are looked at (`stranger` for
 * tags drawn from all there could be, and again for texts shaped like one; only their ratios count). Where few bars
 * are seen, either matches one of three thousand tags by chance now and then: so they are taken to be as common.
 */
const PRIOR = { ledger: 0.4, stranger: 0.4, text: 0.1, bars: 0.05, nothing: 0.05 } as const;

/** A place was chosen as the best of about so many (the exponent of e), which by chance agree as well. */
const LOG_PLACES = 8;

/** Modules err together (a pose a little off, blur that is modelled roughly), and say less than they seem to. */
const TRUST = 0.5;

/** Share of modules that look like anything at all. */
const ODD_SHARE = 0.03;
/** Range of shades, over which what is seen of a covered module is spread evenly. */
const EVEN = 1 / 2;
/** Usual deviation of a bare module from its shade, worth so many modules beside those seen. */
const USUAL_OFF = 0.1;
const USUAL_MODULES = 8;
const BLURS = [0.2, 0.35, 0.5, 0.65, 0.8, 1] as const;
const MOST_SUSPECTS = 8;
/** Values of the check character, and of all but start characters. */
const MODULUS = 103;

/** How a module looks that is dark, light or between: shade = base + gain · colour. */
export interface Look {
  readonly blurModules: number;
  readonly base: number;
  readonly gain: number;
  readonly off: number;
}

/** The look that fits what is known, or thought, of the modules. @param darkShare per module */
export function lookOf(evidence: BarEvidence, darkShare: Float64Array): Look {
  const looks = BLURS.map((blurModules) => fitLook(evidence, darkShare, blurModules));
  return looks.reduce((best, look) => (look.off < best.off ? look : best));
}

function fitLook({ shade, variance, rows }: BarEvidence, darkShare: Float64Array, blurModules: number): Look {
  const colours = softColours(darkShare, blurModules);
  // Held at black and white where little is known.
  let [sw, sx, sxx, sy, sxy] = [2, 0, 2, 1, 1];
  const weights = shade.map((_, module) => {
    const share = darkShare[module] as number;
    const known = (2 * share - 1) ** 4;
    const bare = 1 - Math.exp(-(rows[module] as number));
    return (known * bare * USUAL_OFF ** 2) / (USUAL_OFF ** 2 + (variance[module] as number));
  });
  for (let module = 0; module < shade.length; module++) {
    const [w, x, y] = [weights[module] as number, colours[module] as number, shade[module] as number];
    sw += w;
    sx += w * x;
    sxx += w * x * x;
    sy += w * y;
    sxy += w * x * y;
  }
  const gain = Math.max(0.1, (sw * sxy - sx * sy) / (sw * sxx - sx * sx));
  const base = (sy - gain * sx) / sw;
  let [total, squares] = [USUAL_MODULES, USUAL_MODULES * USUAL_OFF ** 2];
  for (let module = 0; module < shade.length; module++) {
    const off = (shade[module] as number) - base - gain * (colours[module] as number);
    total += weights[module] as number;
    // One odd module is not to make all of them uncertain.
    squares += (weights[module] as number) * Math.min(off * off, 0.25);
  }
  return { blurModules, base, gain, off: Math.sqrt(squares / total) };
}

/** Per module, the log-likelihood of what is seen, were its colour this (-1 dark to 1 light). */
class Modules {
  readonly #hidden: Float64Array;
  readonly #spread: Float64Array;

  constructor(
    private readonly evidence: BarEvidence,
    private readonly look: Look,
  ) {
    this.#hidden = evidence.rows.map((rows) => ODD_SHARE + (1 - ODD_SHARE) * Math.exp(-rows));
    this.#spread = evidence.variance.map((variance) => variance + look.off ** 2);
  }

  of(module: number, colour: number): number {
    const { base, gain } = this.look;
    return this.#at(module, base + gain * colour, this.#spread[module] as number);
  }

  /** Were it anything: shades spread about their mean. */
  ofAnything(): number {
    const { shade, rows } = this.evidence;
    const weight = rows.map((count) => 1 - Math.exp(-count));
    const total = weight.reduce((sum, w) => sum + w, 1e-9);
    const mean = shade.reduce((sum, value, at) => sum + value * (weight[at] as number), 0) / total;
    const spread =
      shade.reduce((sum, value, at) => sum + (value - mean) ** 2 * (weight[at] as number), 0.05) /
      (total + 1);
    return shade.reduce((sum, _, module) => sum + this.#at(module, mean, spread), 0);
  }

  #at(module: number, mean: number, spread: number): number {
    const hidden = this.#hidden[module] as number;
    const off = (this.evidence.shade[module] as number) - mean;
    const density = Math.exp((-0.5 * off * off) / spread) / Math.sqrt(2 * Math.PI * spread);
    return Math.log(hidden * EVEN + (1 - hidden) * density);
  }
}

/** Log-likelihoods of every value for every character (`VALUES` each), and of quiet zones and stop. */
export function valueTable(
  evidence: BarEvidence,
  look: Look,
  { characterCount, darkShare }: BarGroup,
): { readonly table: Float64Array; readonly fixed: number } {
  const modules = new Modules(evidence, look);
  const table = new Float64Array(characterCount * VALUES);
  let fixed = 0;
  const around = softColours(darkShare, look.blurModules);
  const end = QUIET + characterCount * CHARACTER_MODULES;
  for (let module = 0; module < darkShare.length; module++) {
    if (module < QUIET || module >= end) fixed += modules.of(module, around[module] as number);
  }
  const colours = coloursOfValues(look.blurModules);
  for (let place = 0; place < characterCount; place++) {
    const first = QUIET + place * CHARACTER_MODULES;
    for (let value = 0; value < VALUES; value++) {
      let sum = 0;
      for (let at = 0; at < CHARACTER_MODULES; at++) {
        sum += modules.of(first + at, colours[value * CHARACTER_MODULES + at] as number);
      }
      table[place * VALUES + value] = sum;
    }
  }
  return { table, fixed };
}

const softened = new Map<number, Float64Array>();

/** The modules of every value between its neighbours, which end in a space and begin with a bar. */
function coloursOfValues(blurModules: number): Float64Array {
  const known = softened.get(blurModules);
  if (known !== undefined) return known;
  const all = code128Modules().characters.map((modules) => {
    const window = Float64Array.from([0.5, 0.5, 0, ...modules, 1, 0.5, 0.5]);
    return [...softColours(window, blurModules).subarray(3, 3 + CHARACTER_MODULES)];
  });
  const colours = Float64Array.from(all.flat());
  softened.set(blurModules, colours);
  return colours;
}

/** How likely each module is dark if the characters are any, as often as in tags and in texts at large. */
export function expectedModules(table: Float64Array, { characterCount, valueShare }: BarGroup): Float64Array {
  const shares = new Float64Array(table.length);
  for (let place = 0; place < characterCount; place++) {
    const at = place * VALUES;
    const logs = Array.from(
      { length: VALUES },
      (_, value) =>
        (table[at + value] as number) + Math.log((valueShare[at + value] as number) + 0.1 / VALUES),
    );
    const total = logSumOf(logs);
    logs.forEach((log, value) => {
      shares[at + value] = Math.exp(log - total);
    });
  }
  return meanModules(characterCount, shares);
}

/** The likeliest tags with their probability of all there could be. */
export function judgeBars(group: BarGroup, evidence: BarEvidence, look: Look): Suspect[] {
  const { texts, tagShare } = group;
  const { table, fixed } = valueTable(evidence, look, group);
  const modules = new Modules(evidence, look);
  const sums = sumsOfValues(group, table).map((sum) => TRUST * (sum + fixed));
  const own = sums.subarray(0, texts.length);
  const strange = sums.subarray(texts.length);
  // A length that few tags have is as seldom seen.
  const [ofLedger, ofStrangers] = [PRIOR.ledger * tagShare, PRIOR.stranger * tagShare];
  const first = Math.log(ofLedger / texts.length) - LOG_PLACES;
  const terms = [
    first + logSumOf(own),
    strange.length === 0
      ? Number.NEGATIVE_INFINITY
      : Math.log(ofStrangers / strange.length) - LOG_PLACES + logSumOf(strange),
    Math.log(ofStrangers) -
      LOG_PLACES +
      ofAnyText(table, fixed, group, (at) => group.valueShare[at] as number),
    Math.log(PRIOR.text) - LOG_PLACES + ofAnyText(table, fixed, group, () => 1 / MODULUS),
    Math.log(PRIOR.bars) + TRUST * ofAnyBars(modules, look, group.modules),
    Math.log(PRIOR.nothing) + TRUST * modules.ofAnything(),
  ];
  const total = logSumOf(terms);
  return largest(own, MOST_SUSPECTS).map((index) => ({
    text: texts[index] as string,
    probability: Math.exp(first + (own[index] as number) - total),
  }));
}

/**
 * Over all texts of so many characters whose check character is right: by the running sum, modulo 103.
 * @param shareOf how often a character (an index of the table) is what it is
 */
function ofAnyText(
  table: Float64Array,
  fixed: number,
  { characterCount }: BarGroup,
  shareOf: (at: number) => number,
): number {
  let top = 0;
  const likelihood = (place: number): Float64Array => {
    const own = table.subarray(place * VALUES, (place + 1) * VALUES).map((value) => TRUST * value);
    const most = own.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
    top += most;
    return own.map((value) => Math.exp(value - most));
  };
  let bySum = new Float64Array(MODULUS);
  likelihood(0).forEach((one, value) => {
    if (value >= MODULUS) bySum[value - MODULUS] = one / 3;
  });
  // Start characters have the values 103 to 105: 0 to 2 modulo 103.
  for (let place = 1; place < characterCount - 1; place++) {
    const own = likelihood(place);
    const next = new Float64Array(MODULUS);
    for (let value = 0; value < MODULUS; value++) {
      const moved = (place * value) % MODULUS;
      const share = (own[value] as number) * shareOf(place * VALUES + value);
      if (share === 0) continue;
      for (let sum = 0; sum < MODULUS; sum++) {
        const to = sum + moved < MODULUS ? sum + moved : sum + moved - MODULUS;
        next[to] = (next[to] as number) + share * (bySum[sum] as number);
      }
    }
    bySum = next;
  }
  const check = likelihood(characterCount - 1);
  const all = bySum.reduce((sum, one, value) => sum + one * (check[value] as number), 0);
  return TRUST * fixed + top + Math.log(all + Number.MIN_VALUE);
}

/** Over all rows of bars and spaces, each module dark or light by itself: forward over pairs of modules. */
function ofAnyBars(modules: Modules, look: Look, count: number): number {
  const [side, middle] = (() => {
    const colours = softColours(Float64Array.of(0, 0, 0, 1, 0, 0, 0), look.blurModules);
    const own = (1 - (colours[3] as number)) / 2;
    return [(1 - own) / 2, own];
  })();
  // State: the module before and the module itself, 1 for light.
  let logs = [0, 0, 0, 0].map(() => Math.log(1 / 4));
  for (let module = 0; module < count; module++) {
    const next = [0, 0, 0, 0].map(() => [] as number[]);
    logs.forEach((log, state) => {
      const [before, own] = [state >> 1, state & 1];
      for (const after of [0, 1]) {
        const light = side * before + middle * own + side * after;
        next[own * 2 + after]?.push(log + Math.log(0.5) + modules.of(module, 2 * light - 1));
      }
    });
    logs = next.map(logSumOf);
  }
  return logSumOf(logs);
}

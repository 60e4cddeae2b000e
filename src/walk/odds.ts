/**
 * The odds of a pair: how much likelier it is that this pot holds this plant than that the pot is a
 * stranger's and the plant is gone. A product of what place, tag and traits say.
 */
import type { PlantId } from '../ids/plant-id.js';
import type { Plant } from '../ledger/model.js';
import type { OpenPot } from './findings.js';
import type { HalfExchange } from './half-exchange.js';
import type { Landing } from './landing.js';
import { WALK } from './parameters.js';
import type { Rates } from './rates.js';
import type { Reading, Spot } from './readings.js';
import { type Place, placeOf } from './stations.js';
import type { TraitKnowledge } from './traits.js';

/** A plant that may stand in an open pot. */
export interface Candidate {
  readonly plant: Plant;
  readonly home: Place | null;
  /** Its station was walked, and it was not there; or else it may stand there still. */
  readonly isMissing: boolean;
}

export interface Garden {
  readonly rates: Rates;
  readonly landing: Landing;
  readonly halves: ReadonlyMap<Spot, HalfExchange>;
  readonly tagPartners: ReadonlyMap<PlantId, ReadonlySet<PlantId>>;
  readonly traits: TraitKnowledge;
}

/** The odds of this pot with each plant; 0 if it cannot be. */
export function oddsFor(pot: OpenPot, garden: Garden): (candidate: Candidate) => number {
  const { rates, traits } = garden;
  const tagAndPlace = tagAndPlaceOf(pot, garden);
  const ratios = [...pot.spot.traits].map(([trait, value]) => traits.ratios(trait, value));
  return (candidate) => {
    let odds = tagAndPlace(candidate) / ((candidate.isMissing ? rates.gone : 1) * rates.strange);
    for (const ratio of ratios) odds *= ratio(candidate.plant.id);
    return odds;
  };
}

function tagAndPlaceOf({ spot, worn }: OpenPot, garden: Garden): (candidate: Candidate) => number {
  const { landing } = garden;
  const stands = (home: Place | null, moved: number) =>
    home?.key === spot.place.key ? 1 - moved : moved * landing.pot(home, spot.place);
  const alone = tagAndPlaceAlone(spot, worn, garden, stands);
  const half = garden.halves.get(spot);
  if (half === undefined) return alone;
  const exchanged = halfExchanged(spot, half, garden);
  return (candidate) => (half.plants.includes(candidate.plant.id) ? exchanged : alone(candidate));
}

function tagAndPlaceAlone(
  spot: Spot,
  worn: Plant | null,
  { rates, landing, tagPartners }: Garden,
  stands: (home: Place | null, moved: number) => number,
): (candidate: Candidate) => number {
  const { reading, place } = spot;
  if (reading.kind === 'spoilt') {
    const ratioOf = spoiltTagRatios(place, reading, rates, landing);
    return (candidate) => stands(candidate.home, rates.moved) * rates.lost * ratioOf(candidate);
  }
  if (worn === null) return ({ home }) => stands(home, rates.movedUntagged) * rates.lost;
  // The pot wears this plant's tag, or another plant's that was lost and stuck into it.
  const owner = homeOf(worn);
  const hangsHere = landing.tag(owner, place);
  return ({ plant, home }) => {
    if (plant.id === worn.id) return stands(home, rates.moved) / (rates.mishung * hangsHere);
    const mishung = rates.mishung * rates.lost * landing.tagOfMoved(owner, home, place);
    // An exchange of tags is one event; each of its two pots has the root of it.
    const exchanged =
      owner !== null && home !== null && tagPartners.get(worn.id)?.has(plant.id)
        ? Math.sqrt(rates.exchanged * (1 - WALK.potsNotTags) * landing.tag(owner, home))
        : 0;
    return (stands(home, rates.moved) * Math.max(mishung, exchanged)) / (rates.mishung * hangsHere);
  };
}

/**
 * Whether the pots or the tags changed places, it is as likely; so each of the two pots is as likely either
 * plant. What the exchange has as a whole, each pot has the root of, so that it counts once.
 */
function halfExchanged(spot: Spot, half: HalfExchange, { rates, landing }: Garden): number {
  const [one, two] = half.places;
  const exchanged = Math.sqrt(rates.exchanged * landing.tag(one, two));
  if (spot === half.tagged) return exchanged / (rates.mishung * landing.tag(one, two));
  const legible = spot.reading.kind === 'spoilt' ? legibleRatio(spot.reading.pattern, half.other) : 1;
  return exchanged * rates.lost * legible;
}

/** The spoilt tag is the plant's own, or that of another that was stuck into its pot. */
function spoiltTagRatios(
  place: Place,
  { pattern, candidates }: Extract<Reading, { kind: 'spoilt' }>,
  { lost, mishung }: Rates,
  landing: Landing,
): (candidate: Candidate) => number {
  const owners = candidates.map((owner) => {
    return { id: owner.id, home: homeOf(owner), legible: legibleRatio(pattern, owner.id) };
  });
  const changed = lost * mishung;
  return ({ plant, home }) => {
    let another = 0;
    for (const owner of owners) {
      if (owner.id !== plant.id) another += landing.tagOfMoved(owner.home, home, place) * owner.legible;
    }
    return (1 - changed) * legibleRatio(pattern, plant.id) + changed * another;
  };
}

function homeOf({ station }: Plant): Place | null {
  return station === null ? null : placeOf(station);
}

const ALPHABET_SIZE = 32;

/** Legible characters, for this plant's tag against one with any characters. */
export function legibleRatio(pattern: string, id: PlantId): number {
  let ratio = 1;
  for (const [index, character] of [...pattern].entries()) {
    if (character === '?') continue;
    const right = character === id[index];
    const chance = right ? 1 - WALK.characterWrong : WALK.characterWrong / (ALPHABET_SIZE - 1);
    ratio *= chance * ALPHABET_SIZE;
  }
  return ratio;
}

/**
 * The ranking as `keepers --json` prints it.
 */
import type { CropKeepers, Keepers, NamedKeeper, RankedSeedling } from '../breeding/keepers.js';
import { crossOf, plantJson } from './json.js';

export function keepersJson({ crops, named }: Keepers, cautions: readonly string[]) {
  return { crops: crops.map(cropJson), named: named.map(namedJson), cautions };
}

function cropJson({ crop, criteria, ranking, living, caprifigs }: CropKeepers) {
  const names = criteria.map(({ criterion }) => criterion.name);
  return {
    crop: crop.name,
    criteria: criteria.map(({ criterion, weight, measurements, plants, model }) => ({
      name: criterion.name,
      meaning: criterion.meaning,
      unit: criterion.unit || null,
      weight,
      measurements,
      plants,
      mean: model?.mean ?? null,
      variance_between_families: model?.variances.family ?? null,
      variance_between_plants: model?.variances.plant ?? null,
      variance_between_measurements: model?.variances.rest ?? null,
    })),
    living,
    caprifigs_left_out: caprifigs,
    ranking: ranking.map((ranked) => rankedJson(ranked, names)),
  };
}

function rankedJson(ranked: RankedSeedling, names: readonly string[]) {
  const { plant, estimates } = ranked;
  return {
    rank: ranked.rank,
    rank_low: ranked.rankLow,
    rank_high: ranked.rankHigh,
    id: plant.id,
    key: plant.key,
    cross: crossOf(plant),
    station: plant.station,
    name: ranked.name,
    keep: ranked.keep,
    score: ranked.score,
    outdone_by: ranked.outdoneBy,
    persistent_female: ranked.persistentFemale,
    estimates: Object.fromEntries(
      names.map((name, index) => {
        const estimate = estimates[index];
        return [
          name,
          estimate == null
            ? null
            : {
                value: estimate.value,
                standard_error: estimate.standardError,
                measurements: estimate.measurements,
              },
        ];
      }),
    ),
  };
}

function namedJson({ plant, name, since, cuttings }: NamedKeeper) {
  return { name, since, plant: plantJson(plant), cuttings: cuttings.map(plantJson) };
}

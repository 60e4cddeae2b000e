/**
 * What hangs, as `picks --json` prints it.
 */
import type { Picks } from '../breeding/picks.js';
import { crossOf } from './json.js';

export function picksJson({ frost, times, picks }: Picks) {
  return {
    frost,
    ripening: times.map((time) => ({
      crop: time.crop.name,
      wood: time.wood,
      from: time.from,
      ripened: time.ripened,
      waiting: time.waiting,
      median_days: time.medianDays,
      early_days: time.earlyDays,
      late_days: time.lateDays,
      source: time.source,
    })),
    picks: picks.map(({ plant, wave, group, isOverdue, ripe, chanceRipe }) => ({
      group,
      station: plant.station,
      id: plant.id,
      key: plant.key,
      cross: crossOf(plant),
      wood: wave.wood,
      state: wave.state,
      first_seen: wave.since,
      first_seen_as: wave.seenAs,
      last_seen: wave.lastSeen,
      overdue: isOverdue,
      ripe_early: ripe.early,
      ripe_median: ripe.median,
      ripe_late: ripe.late,
      chance_ripe: chanceRipe,
    })),
  };
}

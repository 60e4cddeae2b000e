/**
 * The judgement on a fig's type, in words and as --json prints it.
 */
import type { TypeJudgement } from '../breeding/fig-types.js';
import { nothingTells, type WouldSettle } from '../breeding/judged-type.js';
import { byName, of } from '../breeding/per-type.js';
import { FIG_TYPES, type PerType } from '../observe/type-likelihoods.js';
import { bold, dim, green, yellow } from './console.js';
import { percent } from './words.js';

/** A smaller chance that one look settles it is not worth a number. */
const LEAST_CHANCE = 0.01;

export function typeJson(judgement: TypeJudgement) {
  const { stated, called, posterior, isSanPedro, wouldSettle, calls, pollenParent } = judgement;
  return {
    stated,
    state: called === null ? 'open' : 'called',
    called,
    posterior: byName(posterior),
    female: of(posterior, 0) + of(posterior, 1),
    persistent: of(posterior, 0) + of(posterior, 2),
    san_pedro: isSanPedro,
    settles:
      wouldSettle === null
        ? null
        : {
            look: wouldSettle.look,
            gain_bits: wouldSettle.gainBits,
            chance_of_call: wouldSettle.chanceOfCall,
          },
    calls,
    pollen_parent:
      pollenParent === null
        ? null
        : {
            carries_persistence: pollenParent.carriesPersistence,
            is_male_twice: pollenParent.isMaleTwice,
          },
  };
}

export function typeInWords(judgement: TypeJudgement): string {
  const { called, posterior, isSanPedro, wouldSettle, calls } = judgement;
  const shares = FIG_TYPES.map((type, index) => ({ type, share: of(posterior, index) }))
    .filter(({ share }) => share >= 0.001)
    .sort((a, b) => b.share - a.share)
    .map(({ type, share }) => `${type} ${percent(share)}`);
  const lines = nothingTells(posterior)
    ? [`${yellow('open')}; nothing tells yet`]
    : [`${called === null ? yellow('open') : green('called')}: ${shares.join(', ')}`];
  if (isSanPedro) {
    lines.push(
      'San Pedro: it held the unpollinated breba crop on old wood and dropped the main crop on new wood',
    );
  }
  if (wouldSettle !== null) lines.push(settleInWords(wouldSettle, posterior));
  for (const call of calls) {
    lines.push(
      dim(
        call.called === null
          ? `${call.date} open again`
          : `${call.date} called ${call.called} (${percent(call.probability)})`,
      ),
    );
  }
  return `${bold('Type')}\n${lines.map((line) => `  ${line}`).join('\n')}`;
}

function settleInWords({ look, chanceOfCall }: WouldSettle, posterior: PerType): string {
  const drops = of(posterior, 1) + of(posterior, 3) > 0.5;
  const how =
    look === 'a ripe fruit cut open'
      ? `cut a ripe fruit open${drops ? ', pollinated by hand if they fall' : ''}:\n    --fruit ripe --inside pulp, stamens or dry`
      : 'keep fruit on new wood from pollen and see whether it ripens or falls:\n    --wood new --pollination none';
  const chance =
    chanceOfCall < LEAST_CHANCE ? 'nothing tells more' : `${percent(chanceOfCall)} likely to do so`;
  return `to settle it, ${how} (${chance})`;
}

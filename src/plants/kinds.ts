/**
 * The words growers use for a plant's kind and for the type of a fig.
 */
import type { PlantKind } from '../ledger/model.js';
import { fold } from '../wording.js';

const KIND_WORDS: Readonly<Record<PlantKind, string>> = {
  seedling:
    'seedling, seedlings, seed, from seed, Sämling, Saemling, Sämlinge, semis, plantule, jeune plant, plántula, de semilla, semenzale, piantina, da seme',
  cutting:
    'cutting, cuttings, rooted cutting, Steckling, Stecklinge, bouture, boutures, esqueje, estaca, estaquilla, talea, talee',
  graft:
    'graft, grafted, grafted tree, Veredelung, Veredlung, veredelt, Pfropfung, greffe, greffé, greffon, injerto, injertado, innesto, innestato',
  parent:
    'parent, parents, parent tree, parent plant, stock tree, stock plant, mother tree, mother plant, Elter, Elternpflanze, Elternbaum, Mutterpflanze, Mutterbaum, pied mère, arbre mère, progenitor, parental, planta madre, árbol madre, genitore, pianta madre',
};

const KINDS: ReadonlyMap<string, PlantKind> = new Map(
  Object.entries(KIND_WORDS).flatMap(([kind, words]) =>
    words.split(',').map((word) => [fold(word), kind as PlantKind] as const),
  ),
);

export function parseKind(text: string): PlantKind | undefined {
  return KINDS.get(text) ?? KINDS.get(fold(text));
}

export const FIG_TYPES =
  '"female" or "caprifig" and "persistent" or "caducous", one or both (also "common" and "smyrna")';

/** What each word says of a tree; `fig` says nothing more. */
const TYPE_WORDS: ReadonlyMap<string, readonly string[]> = new Map([
  ['female', ['female']],
  ['caprifig', ['caprifig']],
  ['male', ['caprifig']],
  ['persistent', ['persistent']],
  ['caducous', ['caducous']],
  ['common', ['persistent', 'female']],
  ['smyrna', ['caducous', 'female']],
  ['fig', []],
]);

/**
 * A fig's type in words of any order and case → `persistent female`, `caducous caprifig`, or the half that
 * is known (`female`, `persistent`). Undefined if a word is foreign or two contradict each other.
 */
export function parseFigType(text: string): string | undefined {
  const meanings = fold(text)
    .split(' ')
    .map((word) => TYPE_WORDS.get(word));
  if (meanings.includes(undefined)) return undefined;
  const said = new Set(meanings.flatMap((meaning) => meaning ?? []));
  const holding = ['persistent', 'caducous'].filter((word) => said.has(word));
  const sex = ['female', 'caprifig'].filter((word) => said.has(word));
  if (holding.length > 1 || sex.length > 1 || said.size === 0) return undefined;
  return [...holding, ...sex].join(' ');
}

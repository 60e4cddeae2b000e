/**
 * The fields of a plant's row, and the headings that name them in the trade's own words (English, German,
 * French, Spanish, Italian). Common practice; words that often mean something else are left out.
 */
import { fold } from '../wording.js';

export const FIELDS = [
  'key',
  'id',
  'seed_parent',
  'pollen_parent',
  'cross',
  'sown',
  'kind',
  'origin',
  'station',
  'type',
  'note',
] as const;
export type Field = (typeof FIELDS)[number];

/** `rank` 1 is the surest; a field with several candidates takes the best ranked. */
export interface HeadingMeaning {
  readonly field: Field;
  readonly rank: number;
}

/** Any word for a number reads as `no`: `Topfnummer`, `Topf-Nr.`, `Topf #`. */
export const HEADING_WORDS: readonly (readonly [field: Field, rank: number, headings: string])[] = [
  ['key', 1, 'key, plant key, Schlüssel, clé, clave, chiave'],
  ['key', 2, 'tag, tag no, label, label no, plant no, seedling no, tree no, accession, accession no'],
  ['key', 2, 'code, plant code, reference, ref, ref no'],
  ['key', 2, 'Etikett, Etikettnummer, Pflanzennummer, Sämlingsnummer, Baumnummer, Pflanzencode'],
  ['key', 2, 'étiquette, numéro étiquette, numéro plante, numéro de plante, code plante, référence'],
  ['key', 2, 'etiqueta, número etiqueta, número planta, número de planta, código, referencia'],
  ['key', 2, 'etichetta, numero etichetta, numero pianta, numero di pianta, codice, riferimento'],
  ['key', 3, 'plant, plant name, seedling, seedling name, tree, name'],
  ['key', 3, 'Pflanze, Sämling, Saemling, Baum, Bezeichnung, Pflanzenname'],
  ['key', 3, 'plante, nom, nom de la plante, planta, nombre, pianta, nome'],
  ['key', 4, 'pot, pot no, no, Topf, Topfnummer, numéro pot, maceta, número maceta, vaso, numero vaso'],

  ['id', 1, 'id, plant id, pottag id'],

  [
    'seed_parent',
    1,
    'seed parent, seed parent ♀, female parent, female parent ♀, maternal parent, ♀, ♀ parent',
  ],
  ['seed_parent', 1, 'mother, mother ♀, ♀ mother, mother plant, mother tree, female, ♀ female, female ♀'],
  ['seed_parent', 1, 'Mutter, Muttersorte, Mutter ♀, Samenelter, Samenmutter, weiblicher Elter'],
  ['seed_parent', 1, 'mère, mère ♀, parent femelle, femelle, parent maternel'],
  ['seed_parent', 1, 'madre, madre ♀, progenitor femenino, parental femenino, hembra'],
  ['seed_parent', 1, 'genitore femminile, madre femminile, femmina'],

  [
    'pollen_parent',
    1,
    'pollen parent, pollen parent ♂, male parent, male parent ♂, paternal parent, ♂, ♂ parent',
  ],
  ['pollen_parent', 1, 'father, father ♂, ♂ father, father plant, father tree, male, ♂ male, male ♂'],
  ['pollen_parent', 1, 'pollen, pollen donor, pollen source, pollinator, pollinated by, pollinated with'],
  ['pollen_parent', 1, 'Vater, Vatersorte, Vater ♂, Pollenelter, Pollenspender, männlicher Elter, Bestäuber'],
  ['pollen_parent', 1, 'père, père ♂, parent mâle, mâle, parent paternel, pollinisateur, donneur de pollen'],
  ['pollen_parent', 1, 'padre, padre ♂, progenitor masculino, parental masculino, macho, polinizador'],
  ['pollen_parent', 1, 'genitore maschile, maschio, impollinatore'],

  ['cross', 1, 'cross, crossing, parents, parentage, pedigree, Kreuzung, Eltern, Abstammung'],
  ['cross', 1, 'croisement, parenté, cruce, cruzamiento, padres, incrocio, genitori, ♀ ♂'],

  ['sown', 1, 'sown, sown on, date sown, sown date, sowing, sowing date, date of sowing, sow date, seeded'],
  ['sown', 1, 'gesät, gesaet, gesät am, gesaet am, ausgesät, ausgesät am, Aussaat, Aussaatdatum, Saatdatum'],
  ['sown', 1, 'semé, semé le, date de semis, date semis, sembrado, sembrado el, siembra, fecha de siembra'],
  ['sown', 1, 'fecha siembra, seminato, seminato il, semina, data di semina, data semina'],

  ['kind', 1, 'kind, plant kind, kind of plant, propagation, propagated by, raised from'],
  ['kind', 1, 'Vermehrung, Vermehrungsart, Anzuchtart, mode de multiplication, multiplication'],
  ['kind', 1, 'multiplicación, propagación, tipo de planta, moltiplicazione, propagazione'],

  ['origin', 1, 'origin, cutting of, cutting from, cut from, taken from, graft of, scion from, origin plant'],
  ['origin', 1, 'Herkunft, Herkunftspflanze, Steckling von, Reiser von, Edelreis von'],
  ['origin', 1, "origine, bouture de, plante d'origine, greffon de, origen, planta de origen, esqueje de"],
  ['origin', 1, "pianta d'origine, pianta di origine, talea di"],

  ['station', 1, 'station, location, place, position, bench, bench place, where, stands at'],
  ['station', 1, 'Standort, Platz, Stellplatz, Tisch, Ort, emplacement, lieu, place'],
  ['station', 1, 'ubicación, lugar, posición, posizione, luogo, postazione, bancale'],

  ['type', 1, 'type, fig type, tree type, sex type, Typ, Feigentyp, type de figuier, tipo, tipo di fico'],

  ['note', 1, 'note, notes, remark, remarks, comment, comments, Notiz, Notizen, Bemerkung, Bemerkungen'],
  [
    'note',
    1,
    'Anmerkung, Anmerkungen, Kommentar, Kommentare, remarque, remarques, commentaire, commentaires',
  ],
  ['note', 1, 'nota, notas, observaciones, comentario, comentarios, osservazioni, commento, commenti'],
];

const MEANINGS: ReadonlyMap<string, HeadingMeaning> = new Map(
  HEADING_WORDS.flatMap(([field, rank, headings]) =>
    headings.split(',').map((heading) => [squash(heading), { field, rank }] as const),
  ),
);

/** What a heading says by itself, in any case, spacing, punctuation and with or without accents. */
export function meaningOf(heading: string): HeadingMeaning | undefined {
  return MEANINGS.get(squash(heading));
}

function squash(heading: string): string {
  return fold(heading)
    .replaceAll('#', ' no ')
    .split(' ')
    .map((word) => word.replace(/(?:nummer|number|numero|num|nr)$|^n$/, 'no'))
    .join('');
}

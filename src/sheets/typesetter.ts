/**
 * Text as glyphs of the embedded fonts: Atkinson Hyperlegible Next, whose characters are drawn to be
 * told apart (0 and O, 8 and B, 5 and S, 2 and Z), and DejaVu Sans for what it lacks.
 *
 * Most text is set character by character, which needs no shaping engine and can be cached; runs that
 * need one (right-to-left scripts, combining marks) go through fontkit's layout, with marks where the
 * font draws them by default.
 *
 * A line runs from left to right, so that the seed parent always stands first. The names on either side of
 * its `×` are directional isolates (Unicode Standard Annex 9, 3.1.2): each has the direction of its first
 * letter, and one from right to left is put in visual order in its own place. Embeddings within a name are
 * not resolved beyond that.
 */
import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import fontkit from '@pdf-lib/fontkit';
import { CustomFontSubsetEmbedder } from 'pdf-lib';

export type Weight = 'bold' | 'medium';

/** Height of capitals of Atkinson Hyperlegible Next, as a share of the type size. */
export const CAP_EM = 0.668;

/** Key of a font in the PDF's resources. */
export type FontKey = 'B' | 'M' | 'DB' | 'D';

export interface Font {
  readonly key: FontKey;
  readonly embedder: CustomFontSubsetEmbedder;
}

/** A piece of text in one font; `hex` null is a box drawn for a character that no font has. */
export interface Run {
  readonly key: FontKey;
  hex: string | null;
  widthEm: number;
}

export interface SetText {
  readonly runs: readonly Readonly<Run>[];
  readonly widthEm: number;
  /** Code points that no font has, in order, each once. */
  readonly missing: readonly number[];
}

const FILES: Readonly<Record<FontKey, string>> = {
  B: '@expo-google-fonts/atkinson-hyperlegible-next/700Bold/AtkinsonHyperlegibleNext_700Bold.ttf',
  M: '@expo-google-fonts/atkinson-hyperlegible-next/500Medium/AtkinsonHyperlegibleNext_500Medium.ttf',
  DB: 'dejavu-fonts-ttf/ttf/DejaVuSans-Bold.ttf',
  D: 'dejavu-fonts-ttf/ttf/DejaVuSans.ttf',
};

/** Names without the random prefix that pdf-lib would give, so that equal sheets are equal files. */
const NAMES: Readonly<Record<FontKey, string>> = {
  B: 'POTTGA+AtkinsonHyperlegibleNext-Bold',
  M: 'POTTGB+AtkinsonHyperlegibleNext-Medium',
  DB: 'POTTGC+DejaVuSans-Bold',
  D: 'POTTGD+DejaVuSans',
};

const CHAIN: Readonly<Record<Weight, readonly FontKey[]>> = { bold: ['B', 'DB'], medium: ['M', 'D'] };

/** Width of the box that stands for a character no font has. */
export const MISSING_BOX_EM = 0.7;

const RTL = '\\p{Script=Arabic}\\p{Script=Hebrew}\\p{Script=Nko}';

/** Between parts of a run; brackets are none, for they are mirrored. */
const INNER = '(?:(?![\\p{Ps}\\p{Pe}])[ \\p{P}])*';
const RTL_RUN = `[${RTL}](?:[\\p{M}\\p{Cf}]|${INNER}[${RTL}])*`;
/** A right-to-left run with the spaces and marks inside it, a base with its marks, or any character. */
const CLUSTER = new RegExp(`${RTL_RUN}|\\P{M}\\p{M}+|[^]`, 'gu');
/** What keeps its own order in a right-to-left name: such a run, words and numbers of other scripts, a sign. */
const LTR_CHARACTER = `(?![${RTL}])[\\p{L}\\p{N}]\\p{M}*`;
const DIRECTED = new RegExp(
  `${RTL_RUN}|${LTR_CHARACTER}(?:${INNER}${LTR_CHARACTER})*|\\P{M}\\p{M}+|[^]`,
  'gu',
);
const RTL_NAME = new RegExp(`^\\P{L}*[${RTL}]`, 'u');
const MIRRORED: Readonly<Record<string, string>> = {
  ...{ '(': ')', ')': '(', '[': ']', ']': '[', '{': '}', '}': '{', '<': '>', '>': '<', '«': '»', '»': '«' },
};
/** Latin letters and signs below the combining marks stand for themselves: no clusters to look for. */
const FIRST_PLAIN = 0x20;
const PLAIN_COUNT = 0x300;
const IGNORABLE = /^\p{Default_Ignorable_Code_Point}$/u;

/** Sets text for one document. Fonts are read when a character first needs them. */
export class Typesetter {
  readonly #fonts = new Map<FontKey, Font>();
  readonly #used = new Set<FontKey>();
  readonly #plain: Record<Weight, SetText[]> = { bold: [], medium: [] };
  readonly #clusters: Record<Weight, Map<string, SetText>> = { bold: new Map(), medium: new Map() };

  /** Opens the fonts; DejaVu too, which costs some milliseconds, only when `texts` need it. */
  static async open(texts: Iterable<string>): Promise<Typesetter> {
    const typesetter = new Typesetter();
    await typesetter.#load('B');
    await typesetter.#load('M');
    if (typesetter.#needsFallback(texts)) {
      await typesetter.#load('DB');
      await typesetter.#load('D');
    }
    return typesetter;
  }

  /** The fonts of which a glyph was set. */
  get usedFonts(): readonly Font[] {
    return [...this.#fonts.values()].filter(({ key }) => this.#used.has(key));
  }

  /** Width as a multiple of the type size. */
  widthEm(text: string, weight: Weight): number {
    let widthEm = 0;
    for (const piece of this.#pieces(text, weight)) widthEm += piece.widthEm;
    return widthEm;
  }

  /** The glyphs of a text; neighbours of one font are one run. */
  set(text: string, weight: Weight): SetText {
    const runs: Run[] = [];
    const missing = new Set<number>();
    let widthEm = 0;
    for (const piece of this.#pieces(text, weight)) {
      widthEm += piece.widthEm;
      for (const codePoint of piece.missing) missing.add(codePoint);
      for (const run of piece.runs) {
        const last = runs.at(-1);
        if (last !== undefined && last.key === run.key && last.hex !== null && run.hex !== null) {
          last.hex += run.hex;
          last.widthEm += run.widthEm;
        } else runs.push({ ...run });
      }
    }
    return { runs, widthEm, missing: [...missing] };
  }

  #pieces(text: string, weight: Weight): SetText[] {
    const plain = this.#plain[weight];
    const pieces: SetText[] = [];
    for (let index = 0; index < text.length; index++) {
      const code = text.charCodeAt(index);
      if (code < FIRST_PLAIN || code >= PLAIN_COUNT) return this.#anyPieces(text, weight);
      let piece = plain[code];
      if (piece === undefined) {
        piece = this.#cluster(text.charAt(index), weight);
        plain[code] = piece;
      }
      pieces.push(piece);
    }
    return pieces;
  }

  #anyPieces(text: string, weight: Weight): SetText[] {
    return Array.from(inVisualOrder(tidy(text)).matchAll(CLUSTER), ([cluster]) =>
      this.#cluster(cluster, weight),
    );
  }

  #cluster(cluster: string, weight: Weight): SetText {
    const cache = this.#clusters[weight];
    let set = cache.get(cluster);
    if (set === undefined) {
      set = this.#setCluster(cluster, weight);
      cache.set(cluster, set);
    }
    return set;
  }

  #setCluster(cluster: string, weight: Weight): SetText {
    const codePoints = Array.from(cluster, (character) => character.codePointAt(0) ?? 0);
    // Marks of DejaVu stand over the letter before them; Atkinson's wait for a shaper to move them.
    const chain = /\p{M}/u.test(cluster) ? CHAIN[weight].toReversed() : CHAIN[weight];
    for (const key of chain) {
      const font = this.#fonts.get(key);
      if (font === undefined) continue;
      const { font: face } = font.embedder;
      if (!codePoints.every((codePoint) => face.hasGlyphForCodePoint(codePoint))) continue;
      const units = face.layout(cluster).glyphs.reduce((sum, glyph) => sum + glyph.advanceWidth, 0);
      const widthEm = units / face.unitsPerEm;
      this.#used.add(key);
      const hex = font.embedder.encodeText(cluster).asString();
      return { runs: [{ key, hex, widthEm }], widthEm, missing: [] };
    }
    if (codePoints.length > 1) return joined(Array.from(cluster, (one) => this.#cluster(one, weight)));
    if (IGNORABLE.test(cluster)) return { runs: [], widthEm: 0, missing: [] };
    return {
      runs: [{ key: 'B', hex: null, widthEm: MISSING_BOX_EM }],
      widthEm: MISSING_BOX_EM,
      missing: codePoints,
    };
  }

  #needsFallback(texts: Iterable<string>): boolean {
    const face = this.#fonts.get('M')?.embedder.font;
    const known = new Set<string>();
    for (const text of texts) {
      for (const character of tidy(text)) {
        if (known.has(character)) continue;
        known.add(character);
        const codePoint = character.codePointAt(0) ?? 0;
        if (face?.hasGlyphForCodePoint(codePoint) !== true || /\p{M}/u.test(character)) return true;
      }
    }
    return false;
  }

  async #load(key: FontKey): Promise<void> {
    const bytes = await readFile(createRequire(import.meta.url).resolve(FILES[key]));
    const embedder = await CustomFontSubsetEmbedder.for(fontkit, bytes, NAMES[key]);
    nameScripts(embedder.font);
    this.#fonts.set(key, { key, embedder });
  }
}

/**
 * Makes layout use the simple shaper for all but right-to-left scripts. Left to guess the script, this
 * fontkit throws on Indic and many African ones, whose shapers want a runtime that it does not bring.
 */
function nameScripts(font: CustomFontSubsetEmbedder['font']): void {
  const layout: (text: string, features: undefined, script: string) => ReturnType<typeof font.layout> =
    font.layout.bind(font);
  font.layout = (text) =>
    layout(text, undefined, SHAPED.find(([pattern]) => pattern.test(text))?.[1] ?? 'latn');
}

/** Scripts by their OpenType tags. */
const SHAPED: readonly [RegExp, string][] = [
  [/\p{Script=Arabic}/u, 'arab'],
  [/\p{Script=Hebrew}/u, 'hebr'],
  [/\p{Script=Nko}/u, 'nko '],
];

function joined(pieces: readonly SetText[]): SetText {
  return {
    runs: pieces.flatMap((piece) => piece.runs),
    widthEm: pieces.reduce((sum, piece) => sum + piece.widthEm, 0),
    missing: pieces.flatMap((piece) => piece.missing),
  };
}

/** The right-to-left names of a line turned round, all but the runs that a shaper turns or that keep their order. */
function inVisualOrder(line: string): string {
  return line
    .split(/( *× *)/u)
    .map((name) => {
      if (!RTL_NAME.test(name)) return name;
      const [start, end] = withoutOuterBrackets(name);
      const parts = Array.from(name.slice(start, end).matchAll(DIRECTED), ([part]) => MIRRORED[part] ?? part);
      return name.slice(0, start) + parts.reverse().join('') + name.slice(end);
    })
    .join('');
}

/** Where a name begins and ends less the brackets of a cross that is a parent itself: `(A` of `(A × B) × C`. */
function withoutOuterBrackets(name: string): [number, number] {
  const open = name.split('(').length - name.split(')').length;
  if (open > 0 && name.startsWith('('.repeat(open))) return [open, name.length];
  if (open < 0 && name.endsWith(')'.repeat(-open))) return [0, name.length + open];
  return [0, name.length];
}

/** Composed characters, and no control characters: line ends and tabs become spaces. */
function tidy(text: string): string {
  return text.normalize('NFC').replace(/[\p{Cc}\s]+/gu, ' ');
}

/** What to call a character that cannot be shown: `Han character 樱 (U+6A31)`. */
export function describeCharacter(codePoint: number): string {
  const character = String.fromCodePoint(codePoint);
  const code = `U+${codePoint.toString(16).toUpperCase().padStart(4, '0')}`;
  return `${kindOf(character)} ${character} (${code})`;
}

function kindOf(character: string): string {
  if (/\p{Extended_Pictographic}/u.test(character)) return 'emoji';
  const script = NAMED_SCRIPTS.find((name) => new RegExp(`\\p{Script=${name}}`, 'u').test(character));
  return script === undefined ? 'character' : `${script} character`;
}

/** Scripts that neither font covers, or not wholly. */
const NAMED_SCRIPTS = [
  ...['Han', 'Hiragana', 'Katakana', 'Hangul', 'Bopomofo', 'Thai', 'Lao', 'Khmer', 'Myanmar', 'Tibetan'],
  ...['Devanagari', 'Bengali', 'Gujarati', 'Gurmukhi', 'Kannada', 'Malayalam', 'Oriya', 'Sinhala'],
  ...['Tamil', 'Telugu', 'Ethiopic', 'Mongolian', 'Cherokee', 'Arabic', 'Hebrew', 'Syriac', 'Latin'],
  ...['Greek', 'Cyrillic', 'Armenian', 'Georgian'],
];

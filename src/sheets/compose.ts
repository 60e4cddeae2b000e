/**
 * One tag on one face: the symbols' places and the text that goes with them, in whole dots from the
 * face's top left. Pure: it neither draws nor knows the page.
 */
import { type Code128Bars, code128Bars, code128WidestModules } from '../codes/code128.js';
import { dotsAtLeast } from '../codes/module-fit.js';
import { type BitMatrix, type QrLevel, qrModules, qrText } from '../codes/qr.js';
import { arrange } from './arrange.js';
import { type Arrangement, LINE_CAP_MM, type LinesPlace, type TextPlace } from './arrangement.js';
import { cannotFit, type SmallerCode } from './cannot-fit.js';
import type { Face } from './faces.js';
import { type Turn, turnedSize } from './geometry.js';
import type { Stock, SymbolChoice } from './stock.js';
import { drawCode128, drawQr, type SymbolDrawing } from './symbol-drawing.js';
import { type Field, type FittedText, fitText, WrappedBefore } from './text-fit.js';
import { CAP_EM, type Typesetter, type Weight } from './typesetter.js';

/** What a tag says. Fields that the ledger does not know are null. */
export interface Tag {
  readonly id: string;
  readonly issue: number;
  /** What the QR code holds: the tag text, or a link that ends in it. Code 128 holds the tag text. */
  readonly text: string;
  readonly cross: string | null;
  readonly sown: string | null;
  readonly key: string | null;
  /** ID of the plant a cutting came from. */
  readonly origin: string | null;
}

export type TextField = 'cross' | 'sown' | 'key' | 'origin' | 'station';

/** A line of text: the start of its baseline in dots from the face's top left. */
export interface TextDrawing {
  readonly text: string;
  readonly weight: Weight;
  readonly sizeDots: number;
  readonly x: number;
  readonly y: number;
  readonly turn: Turn;
}

export interface Composition {
  readonly symbols: readonly SymbolDrawing[];
  readonly texts: readonly TextDrawing[];
  readonly shortened: readonly { readonly field: TextField; readonly full: string; readonly shown: string }[];
}

/** Size of the issue beside the ID, as a share of the ID's. */
const ISSUE_SHARE = 0.5;
/** Between ID and issue, as a share of the issue's type size. */
const ISSUE_SPACE_EM = 0.06;
/** A typical character of an ID in bold; one with many wide characters is set a little smaller. */
const ID_CHARACTER_EM = 0.65;
const DIGIT_EM = 0.6;
const DOT_EM = 0.25;
export const LINE_LEADING_EM = 1.24;

/** Composes the tags of one sheet; tags of like extent share one arrangement. */
export class Composer {
  readonly #sharedFields = new Map<string, Field>();
  readonly #arrangements = new Map<string, Arrangement>();

  constructor(
    readonly stock: Stock,
    readonly choice: SymbolChoice,
    readonly dpi: number,
    readonly level: QrLevel,
    readonly typesetter: Typesetter,
  ) {}

  /** Throws `InputError` (`symbol-does-not-fit`) naming what would fit. */
  compose(tag: Tag, face: Face): Composition {
    const qr = this.choice === 'code128' ? null : qrModules(tag.text, this.level);
    const tagText = `${tag.id}.${tag.issue}`;
    const bars = this.choice === 'qr' ? null : code128Bars(tagText);
    const arrangement = this.#arrangement(tag, face, qr?.size ?? null, bars && tagText.length);
    const symbols = arrangement.symbols.map((place) =>
      place.kind === 'qr'
        ? drawQr(qrText(tag.text), qr as BitMatrix, place)
        : drawCode128(tagText, bars as Code128Bars, place, this.dpi),
    );
    const texts: TextDrawing[] = [...this.#idTexts(tag, arrangement.id)];
    if (arrangement.copy !== null) texts.push(...this.#idTexts(tag, arrangement.copy));
    const fitted = this.#fitLines(tag, arrangement);
    if (fitted !== null && arrangement.lines !== null) {
      texts.push(...this.#lineTexts(fitted, arrangement.lines));
    }
    return { symbols, texts, shortened: shortenedFields(tag, fitted) };
  }

  #arrangement(tag: Tag, face: Face, qrSize: number | null, code128Characters: number | null): Arrangement {
    const { width, height } = turnedSize(face);
    const issueDigits = String(tag.issue).length;
    const key = [width, height, qrSize, code128Characters, tag.id.length, issueDigits].join(' ');
    let arrangement = this.#arrangements.get(key);
    if (arrangement === undefined) {
      const needs = {
        qrModules: qrSize,
        code128Modules: code128Characters === null ? null : code128WidestModules(code128Characters),
        idAspect: idAspect(tag.id.length, issueDigits),
        leastMm: this.stock.least_module_mm,
        dpi: this.dpi,
      };
      arrangement = arrange({ width, height }, needs) ?? undefined;
      if (arrangement === undefined) {
        const smaller = qrSize === null ? [] : lowerLevels(tag.text, qrSize);
        throw cannotFit(this.stock, this.choice, face, needs, smaller);
      }
      this.#arrangements.set(key, arrangement);
    }
    return arrangement;
  }

  #idTexts(tag: Tag, place: TextPlace): TextDrawing[] {
    const { typesetter } = this;
    const room = turnedSize(place);
    const issue = `.${tag.issue}`;
    const idEm = typesetter.widthEm(tag.id, 'bold');
    const wholeEm = idEm + ISSUE_SHARE * (ISSUE_SPACE_EM + typesetter.widthEm(issue, 'medium'));
    const nominalEm = CAP_EM * idAspect(tag.id.length, String(tag.issue).length);
    const sizeDots = Math.floor(Math.min(room.height / CAP_EM, room.width / Math.max(wholeEm, nominalEm)));
    const left = place.align === 'centre' ? Math.round((room.width - wholeEm * sizeDots) / 2) : 0;
    // The small copy of a turned spine stands where the eye expects it: both edges aligned.
    const baseline = Math.round((room.height + CAP_EM * sizeDots) / 2);
    const issueDots = Math.round(ISSUE_SHARE * sizeDots);
    const issueX = left + Math.round(idEm * sizeDots + ISSUE_SPACE_EM * issueDots);
    return [
      textAt(place, tag.id, 'bold', sizeDots, left, baseline),
      textAt(place, issue, 'medium', issueDots, issueX, baseline),
    ];
  }

  #fitLines(tag: Tag, arrangement: Arrangement): FittedText | null {
    const place = arrangement.lines;
    if (place === null) return null;
    const room = turnedSize(place);
    return fitText(
      tagFields(tag).map((tagField) => this.#lineField(tagField)),
      {
        ...room,
        largestSize: Math.floor(place.capDots / CAP_EM),
        leastSize: Math.min(
          Math.floor(place.capDots / CAP_EM),
          dotsAtLeast(LINE_CAP_MM.least / CAP_EM, this.dpi),
        ),
        capEm: CAP_EM,
        leadingEm: LINE_LEADING_EM,
      },
    );
  }

  /** What many tags share is wrapped once; keys differ on each. */
  #lineField({ field, text, weight }: TagField): Field {
    const measure = (part: string) => this.typesetter.widthEm(part, weight);
    if (field === 'key') return { name: field, text, measure };
    const name = `${field} ${text}`;
    let shared = this.#sharedFields.get(name);
    if (shared === undefined) {
      shared = { name: field, text, measure, wrapped: new WrappedBefore() };
      this.#sharedFields.set(name, shared);
    }
    return shared;
  }

  #lineTexts(fitted: FittedText, place: LinesPlace): TextDrawing[] {
    const room = turnedSize(place);
    const capDots = Math.round(CAP_EM * fitted.size);
    const leading = Math.round(LINE_LEADING_EM * fitted.size);
    const spare = room.height - capDots - leading * (fitted.lines.length - 1);
    const first = capDots + Math.round({ top: 0, middle: spare / 2, bottom: spare }[place.stand]);
    return fitted.lines.map(({ field, text }, index) => {
      const weight = weightOf(field.name as TextField);
      const width = this.typesetter.widthEm(text, weight) * fitted.size;
      const x = place.align === 'centre' ? Math.round((room.width - width) / 2) : 0;
      return textAt(place, text, weight, fitted.size, x, first + index * leading);
    });
  }
}

/** Width of an ID with its issue as a multiple of its capitals' height. */
export function idAspect(characters: number, issueDigits: number): number {
  const issueEm = ISSUE_SHARE * (ISSUE_SPACE_EM + DOT_EM + DIGIT_EM * issueDigits);
  return (characters * ID_CHARACTER_EM + issueEm) / CAP_EM;
}

/** Lower levels at which a link takes fewer modules than `size`, the highest first. */
function lowerLevels(text: string, size: number): SmallerCode[] {
  return (['Q', 'M', 'L'] as const)
    .map((level) => ({ level, modules: qrModules(text, level).size }))
    .filter(({ modules }) => modules < size);
}

interface TagField {
  readonly field: TextField;
  readonly text: string;
  readonly weight: Weight;
}

/** The lines of a tag, the most telling first. */
function tagFields(tag: Tag): TagField[] {
  const all: [TextField, string | null][] = [
    ['cross', tag.cross],
    ['sown', tag.sown === null ? null : `sown\u00a0${tag.sown}`],
    ['key', tag.key],
    ['origin', tag.origin === null ? null : `cutting of\u00a0${tag.origin}`],
  ];
  return all.flatMap(([field, text]) =>
    text === null || text.trim() === '' ? [] : [{ field, text: text.trim(), weight: weightOf(field) }],
  );
}

function weightOf(field: TextField): Weight {
  return field === 'cross' ? 'bold' : 'medium';
}

function shortenedFields(tag: Tag, fitted: FittedText | null): Composition['shortened'] {
  if (fitted === null) return tagFields(tag).map(({ field, text }) => ({ field, full: text, shown: '' }));
  return fitted.shortened.map(({ name, full, shown }) => ({ field: name as TextField, full, shown }));
}

/** Moves text from a turned place's own upright room into the face. */
export function textAt(
  { box, turn }: TextPlace,
  text: string,
  weight: Weight,
  sizeDots: number,
  x: number,
  y: number,
): TextDrawing {
  switch (turn) {
    case 0:
      return { text, weight, sizeDots, turn, x: box.x + x, y: box.y + y };
    case 90:
      return { text, weight, sizeDots, turn, x: box.x + box.width - y, y: box.y + x };
    case 180:
      return { text, weight, sizeDots, turn, x: box.x + box.width - x, y: box.y + box.height - y };
    case 270:
      return { text, weight, sizeDots, turn, x: box.x + y, y: box.y + box.height - x };
  }
}

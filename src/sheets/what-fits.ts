/** Which symbols a stock takes, how large they come out, and from how far its ID can be read. */
import { code128WidestModules } from '../codes/code128.js';
import { MM_PER_INCH } from '../codes/module-fit.js';
import { TAG_QR_SIZE } from '../codes/qr-block.js';
import { arrange } from './arrange.js';
import type { Needs, TextPlace } from './arrangement.js';
import { idAspect } from './compose.js';
import { facesDots } from './faces.js';
import { turnedSize } from './geometry.js';
import type { Stock, SymbolChoice, SymbolKind } from './stock.js';

/** A tag text of the usual length, `K7FY5.1`. */
const USUAL = { idCharacters: 5, issueDigits: 1, textCharacters: 7 };

/** Capitals are read with ease at 20 minutes of arc, 1/172 of the distance (ISO 9241-3; NUREG-0700, 1.3.1-4). */
const DISTANCE_OF_CAP = 172;

const MM_PER_METRE = 1000;

export interface TagFit {
  readonly symbols: readonly { readonly kind: SymbolKind; readonly moduleMm: number }[];
  /** Capitals of the larger of the ID and its second copy. */
  readonly idCapMm: number;
  readonly idReadFromM: number;
}

/** A usual tag on the stock's first face, at its own resolution; null where the symbol does not fit. */
export function tagFit(stock: Stock, choice: SymbolChoice): TagFit | null {
  const [face] = facesDots(stock, stock.dpi);
  const needs = usualNeeds(stock, choice);
  const arrangement = face === undefined ? null : arrange(turnedSize(face), needs);
  if (arrangement === null) return null;
  const mm = (dots: number) => (dots * MM_PER_INCH) / stock.dpi;
  const capMm = (place: TextPlace | null) => {
    if (place === null) return 0;
    const { width, height } = turnedSize(place);
    return mm(Math.min(height, width / needs.idAspect));
  };
  const idCapMm = Math.max(capMm(arrangement.id), capMm(arrangement.copy));
  return {
    symbols: arrangement.symbols.map(({ kind, moduleDots }) => ({
      kind,
      moduleMm: rounded(mm(moduleDots), 1000),
    })),
    idCapMm: rounded(idCapMm, 10),
    idReadFromM: rounded((DISTANCE_OF_CAP * idCapMm) / MM_PER_METRE, 10),
  };
}

/** What a usual tag needs of a face. */
export function usualNeeds(stock: Stock, choice: SymbolChoice): Needs {
  return {
    qrModules: choice === 'code128' ? null : TAG_QR_SIZE,
    code128Modules: choice === 'qr' ? null : code128WidestModules(USUAL.textCharacters),
    idAspect: idAspect(USUAL.idCharacters, USUAL.issueDigits),
    leastMm: stock.least_module_mm,
    dpi: stock.dpi,
  };
}

function rounded(value: number, parts: number): number {
  return Math.round(value * parts) / parts;
}

/** Labels of shops and sheds, with rows of capitals and digits as large as a tag's ID: none is a tag of the ledger. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import fontkit from '@pdf-lib/fontkit';
import { PDFDocument, type PDFFont, StandardFonts } from 'pdf-lib';
import { ALPHABET } from '../../src/ids/alphabet.js';
import { type Random, seededRandom } from '../support/random.js';
import { rasterisePdf } from '../support/rasterise.js';
import { type Face, pick, type Thing } from './nothing-faces.js';
import { ledgerTexts } from './weather-tags.js';

const LABELS = 48;
const PX_PER_MM = 10;
const PT_PER_MM = 72 / 25.4;
const MARGIN_MM = 3;
/** Of rows, ascenders and all: their capitals are some 3 to 8 mm high, as a tag's ID. */
const ROW_MM = { least: 4, most: 11 } as const;

/** The tags' own typeface, a narrow one, one with serifs, and one that every PDF viewer has. */
const FACES = [
  '@expo-google-fonts/atkinson-hyperlegible-next/700Bold/AtkinsonHyperlegibleNext_700Bold.ttf',
  'dejavu-fonts-ttf/ttf/DejaVuSansCondensed-Bold.ttf',
  'dejavu-fonts-ttf/ttf/DejaVuSerif-Bold.ttf',
  StandardFonts.HelveticaBold,
] as const;

const WORDS = [
  'LOT',
  'BATCH',
  'ROSES',
  'COMPOST',
  'PEAT FREE',
  'SALE',
  'FRAGILE',
  'TOP',
  'SIZE',
  'ROW',
  'BED',
];

/** Of a few dozen labels, other ones for each seed. */
export async function labelWithCapitals(seed: number): Promise<Thing> {
  const labels = await drawnLabels(seededRandom(seed));
  return { name: 'label with capitals', draw: (random) => pick(labels, random) };
}

async function drawnLabels(random: Random): Promise<Face[]> {
  const document = await PDFDocument.create();
  document.registerFontkit(fontkit);
  const fonts = await Promise.all(FACES.map((face) => document.embedFont(fontOf(face))));
  const known = new Set(ledgerTexts().map((text) => text.slice(0, text.indexOf('.'))));
  for (let label = 0; label < LABELS; label++) drawLabel(document, pick(fonts, random), known, random);
  const pages = await rasterisePdf(await document.save(), PX_PER_MM * 25.4);
  return pages.map((face) => ({ face, facePxPerMm: face.pxPerMmX }));
}

function fontOf(face: (typeof FACES)[number]): Uint8Array | StandardFonts {
  if (face === StandardFonts.HelveticaBold) return face;
  return readFileSync(createRequire(import.meta.url).resolve(face));
}

/** One to four rows, each of its own size, on a label that just holds them. */
function drawLabel(document: PDFDocument, font: PDFFont, known: ReadonlySet<string>, random: Random): void {
  const heightEm = font.heightAtSize(1, { descender: false });
  const rows = Array.from({ length: 1 + random.below(4) }, () => {
    const height = random.between(ROW_MM.least, ROW_MM.most) * PT_PER_MM;
    const size = height / heightEm;
    const text = rowOfText(known, random);
    return { text, size, height, width: font.widthOfTextAtSize(text, size) };
  });
  const [margin, gap] = [MARGIN_MM * PT_PER_MM, random.between(2, 5) * PT_PER_MM];
  const width = Math.max(...rows.map((row) => row.width)) + 2 * margin;
  const height = rows.reduce((sum, row) => sum + row.height + gap, 2 * margin - gap);
  const page = document.addPage([width, height]);
  const isCentred = random.next() < 0.5;
  let y = height - margin;
  for (const row of rows) {
    y -= row.height;
    const x = isCentred ? (width - row.width) / 2 : margin;
    page.drawText(row.text, { x, y, size: row.size, font });
    y -= gap;
  }
}

/** A word, a number, both, or as many characters as an ID; never an ID of the ledger. */
function rowOfText(known: ReadonlySet<string>, random: Random): string {
  const any = (count: number) => Array.from({ length: count }, () => pick([...ALPHABET], random)).join('');
  const number = (count: number) => Array.from({ length: count }, () => random.below(10)).join('');
  const kinds: readonly (() => string)[] = [
    () => pick(WORDS, random),
    () => number(3 + random.below(5)),
    () => `${pick(WORDS, random)} ${number(2 + random.below(4))}`,
    () => any(5),
    () => any(4 + random.below(4)),
    () => `${any(2)}-${number(4)}`,
    () => `${any(5)}.${1 + random.below(3)}`,
  ];
  const text = pick(kinds, random)();
  return [...known].some((id) => text.includes(id)) ? pick(WORDS, random) : text;
}

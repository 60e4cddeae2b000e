/**
 * The characters of a printed ID as the reader of damaged tags knows them, drawn from the tags' own typeface.
 */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import fontkit from '@pdf-lib/fontkit';
import sharp from 'sharp';
import { ALPHABET } from '../../src/ids/alphabet.js';
import { type GlyphShape, SHAPE_ROWS } from '../../src/scan/reading/glyphs.js';
import { CAP_EM } from '../../src/sheets/typesetter.js';

const FOLDER = '@expo-google-fonts/atkinson-hyperlegible-next';
const FACES = {
  bold: '700Bold/AtkinsonHyperlegibleNext_700Bold.ttf',
  medium: '500Medium/AtkinsonHyperlegibleNext_500Medium.ttf',
};
/** Each sample is the mean of so many looks squared. */
const LOOKS = 16;
const LEVELS = 15;

export const SHAPES_FILE = join(import.meta.dirname, '../../src/scan/reading/glyph-shapes.json');

/** The ID's characters, with `SHAPE_ROWS.cap` samples to a capital's height; its issue's, half as large. */
export async function drawShapes(): Promise<string> {
  const bold = await shapesOf('bold', ALPHABET, SHAPE_ROWS.cap);
  const issue = await shapesOf('medium', '.0123456789', SHAPE_ROWS.cap / 2);
  return `${JSON.stringify({ id: bold, issue }, null, 2)}\n`;
}

async function shapesOf(
  weight: keyof typeof FACES,
  characters: string,
  capSamples: number,
): Promise<Record<string, GlyphShape>> {
  const file = createRequire(import.meta.url).resolve(`${FOLDER}/${FACES[weight]}`);
  const face = fontkit.create(readFileSync(file));
  const samplesEach = capSamples / CAP_EM / face.unitsPerEm;
  const shapes: Record<string, GlyphShape> = {};
  for (const character of characters) {
    const glyph = face.glyphForCodePoint(character.codePointAt(0) ?? 0);
    const advance = glyph.advanceWidth * samplesEach;
    const width = Math.ceil(advance);
    const height = SHAPE_ROWS.above + SHAPE_ROWS.cap + SHAPE_ROWS.below;
    const scale = LOOKS * samplesEach;
    const baseline = LOOKS * (SHAPE_ROWS.above + SHAPE_ROWS.cap);
    const svg =
      `<svg xmlns="http://www.w3.org/2000/svg" width="${width * LOOKS}" height="${height * LOOKS}">` +
      `<path transform="matrix(${scale} 0 0 ${-scale} 0 ${baseline})" d="${glyph.path.toSVG()}"/></svg>`;
    const { data } = await sharp(Buffer.from(svg))
      .flatten({ background: '#ffffff' })
      .toColourspace('b-w')
      .raw()
      .toBuffer({ resolveWithObject: true });
    const rows = Array.from({ length: height }, (_, row) =>
      Array.from({ length: width }, (_, column) => {
        let light = 0;
        for (let y = 0; y < LOOKS; y++) {
          for (let x = 0; x < LOOKS; x++) {
            light += data[((row * LOOKS + y) * width + column) * LOOKS + x] as number;
          }
        }
        return Math.round(LEVELS * (1 - light / (255 * LOOKS * LOOKS))).toString(16);
      }).join(''),
    );
    shapes[character] = { advance: Number(advance.toFixed(3)), rows: rows.join(' ') };
  }
  return shapes;
}

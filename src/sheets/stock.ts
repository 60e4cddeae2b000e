/**
 * A stock: a sheet or roll of blank tags, as a file in `layouts/` describes it. Lengths are in
 * millimetres from the page's, in zones and faces from the cell's, top left corner.
 */
import { z } from 'zod';

/** Resolutions of printers, in dots per inch. */
export const DPI = { least: 100, largest: 2400 } as const;

const lengthMm = z.number().positive().max(2000);
const distanceMm = z.number().min(0).max(2000);

const rectangle = {
  x_mm: distanceMm.describe("from the cell's left edge"),
  y_mm: distanceMm.describe("from the cell's top edge"),
  width_mm: lengthMm,
  height_mm: lengthMm,
};

const turn = z.literal([0, 90, 180, 270]).describe('degrees clockwise by which the face is printed turned');

const shape = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('rectangle') }),
  z.strictObject({
    kind: z.literal('punch hole'),
    x_mm: distanceMm.describe('centre of the hole'),
    y_mm: distanceMm.describe('centre of the hole'),
    diameter_mm: lengthMm,
  }),
  z.strictObject({
    kind: z.literal('pointed tip'),
    edge: z.enum(['bottom', 'top', 'left', 'right']),
    length_mm: lengthMm.describe('from where the edges begin to converge to the point'),
  }),
]);

export const stockSchema = z
  .strictObject({
    $schema: z.string().optional().describe('lets an editor complete and check this file'),
    name: z
      .string()
      .regex(/^[a-z0-9]+(-[a-z0-9]+)*$/, 'must be small letters, digits and single hyphens')
      .max(60)
      .describe("as given to --stock; the file's name without .json"),
    description: z.string().min(1).max(200).describe('dimensions and material'),
    page: z.strictObject({
      kind: z.enum(['sheet', 'roll']).describe('on a roll every page is one label'),
      width_mm: lengthMm,
      height_mm: lengthMm,
    }),
    dpi: z
      .number()
      .int()
      .min(DPI.least)
      .max(DPI.largest)
      .describe('dots per inch of the usual printer for this stock'),
    cells: z.strictObject({
      columns: z.number().int().min(1).max(100),
      rows: z.number().int().min(1).max(200),
      left_mm: distanceMm.describe('left edge of the first column'),
      top_mm: distanceMm.describe('top edge of the first row'),
      pitch_x_mm: lengthMm.describe('from one left edge to the next'),
      pitch_y_mm: lengthMm.describe('from one top edge to the next'),
      width_mm: lengthMm,
      height_mm: lengthMm,
      corner_mm: distanceMm.default(0).describe('radius of the rounded corners'),
    }),
    shape: shape.default({ kind: 'rectangle' }),
    safe_inset_mm: distanceMm.default(1).describe('kept empty along every edge of the cell'),
    no_print: z
      .array(z.strictObject({ ...rectangle, why: z.string().min(1).max(80) }))
      .default([])
      .describe('stake tip, punch hole, wrap overlap: nothing is printed there'),
    faces: z
      .array(z.strictObject({ ...rectangle, turn: turn.default(0) }))
      .default([])
      .describe('each gets the whole tag; none: the largest room left by inset and zones'),
    least_module_mm: z
      .strictObject({
        qr: z.number().min(0.1).max(5).default(0.5),
        code128: z.number().min(0.1).max(5).default(0.25),
      })
      .default({ qr: 0.5, code128: 0.25 })
      .describe('smallest module that may be printed; 0.5 mm outdoors for QR'),
  })
  .describe('A stock of blank tags');

export type Stock = Readonly<z.infer<typeof stockSchema>>;

/** Where a symbol may be asked for. */
export type SymbolKind = 'qr' | 'code128';
export type SymbolChoice = SymbolKind | 'both';

/** The schema that editors complete a stock file by (JSON Schema, draft 2020-12). */
export function stockJsonSchema(): unknown {
  return z.toJSONSchema(stockSchema, { target: 'draft-2020-12', io: 'input' });
}

/** What can be read of a stock file that has problems, so that its geometry is looked at all the same. */
import type { z } from 'zod';
import { type Stock, stockSchema } from './stock.js';

const RECTANGLE = { x_mm: 1, y_mm: 1, width_mm: 1, height_mm: 1 };

/** Sound values, by key, for what is missing or wrong; a length has 1. */
const STAND_INS: Readonly<Record<string, unknown>> = {
  name: 'unknown',
  description: 'unknown',
  why: 'unknown',
  kind: 'sheet',
  turn: 0,
  dpi: 300,
  page: { kind: 'sheet', width_mm: 1, height_mm: 1 },
  cells: {
    ...{ columns: 1, rows: 1, left_mm: 1, top_mm: 1, corner_mm: 1 },
    ...{ pitch_x_mm: 1, pitch_y_mm: 1, width_mm: 1, height_mm: 1 },
  },
  shape: { kind: 'rectangle' },
  no_print: [{ ...RECTANGLE, why: 'unknown' }],
  faces: [RECTANGLE],
  least_module_mm: { qr: 1, code128: 1 },
};

/**
 * The stock without unknown keys, and with NaN for every number that is missing or wrong: no comparison
 * holds of it. Undefined where nothing can be read.
 */
export function readableStock(json: unknown, { issues }: z.ZodError): Stock | undefined {
  const stock = structuredClone(json);
  const unknown: PropertyKey[][] = [];
  for (const issue of issues) {
    if (issue.code === 'unrecognized_keys') {
      for (const key of issue.keys) Reflect.deleteProperty(at(stock, issue.path) ?? {}, key);
      continue;
    }
    const path = issue.path[0] === 'shape' ? ['shape'] : issue.path;
    const key = path.at(-1);
    const owner = at(stock, path.slice(0, -1));
    if (key === undefined || owner === undefined) return undefined;
    owner[key] = structuredClone(
      typeof key === 'number' ? standInOf(path.at(-2)) : (STAND_INS[String(key)] ?? 1),
    );
    unknown.push(path);
  }
  const { data } = stockSchema.safeParse(stock);
  if (data === undefined) return undefined;
  for (const path of unknown) {
    const owner = at(data, path.slice(0, -1));
    const key = path.at(-1);
    if (owner !== undefined && key !== undefined) owner[key] = withoutNumbers(owner[key]);
  }
  return data;
}

/** Of one element of a list. */
function standInOf(list: PropertyKey | undefined): unknown {
  return list === 'faces' ? RECTANGLE : { ...RECTANGLE, why: 'unknown' };
}

function at(value: unknown, path: readonly PropertyKey[]): Record<PropertyKey, unknown> | undefined {
  const found = path.reduce<unknown>(
    (part, key) => (isObject(part) && Object.hasOwn(part, key) ? part[key] : undefined),
    value,
  );
  return isObject(found) ? found : undefined;
}

function isObject(value: unknown): value is Record<PropertyKey, unknown> {
  return typeof value === 'object' && value !== null;
}

function withoutNumbers(value: unknown): unknown {
  if (typeof value === 'number') return Number.NaN;
  if (Array.isArray(value)) return value.map(withoutNumbers);
  if (!isObject(value)) return value;
  return Object.fromEntries(Object.entries(value).map(([key, part]) => [key, withoutNumbers(part)]));
}

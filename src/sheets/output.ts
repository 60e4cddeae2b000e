/** What `--out` asks for: one PDF, or pictures of its pages for printers that take dots. */
import { existsSync, mkdirSync, readdirSync, rmdirSync, statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { InputError } from '../errors.js';
import { type FileBeside, writeBeside } from '../files.js';
import { oneBitPng } from './one-bit-png.js';
import { openPdf } from './proof/pdf-pages.js';
import type { Drawn, SheetOptions, Sheets } from './sheets.js';
import type { Stock } from './stock.js';

export type Output =
  | { readonly kind: 'pdf'; readonly file: string }
  /** One page only. */
  | { readonly kind: 'png'; readonly file: string }
  /** A PNG a page. */
  | { readonly kind: 'folder'; readonly folder: string };

/** @throws InputError (`bad-out`) for a name that says neither */
export function parseOutput(out: string): Output {
  if (/[/\\]$/.test(out) || (existsSync(out) && statSync(out).isDirectory())) {
    return { kind: 'folder', folder: out };
  }
  if (/\.pdf$/i.test(out)) return { kind: 'pdf', file: out };
  if (/\.png$/i.test(out)) return { kind: 'png', file: out };
  throw new InputError(
    'bad-out',
    `--out ${out} is neither a .pdf nor a .png, nor a folder.`,
    `Name a PDF (${out}.pdf), or for a label printer a folder of PNGs (${out}/).`,
  );
}

/** Files written beside their targets, to be put in place together. */
export interface Written extends FileBeside {
  readonly files: readonly string[];
}

/**
 * Writes what `output` asks for.
 * @param names of its pages' pictures, without `.png`
 * @throws InputError (`several-pages`, `no-such-folder`), or as `writeBeside`
 */
export async function writeSheets(
  output: Output,
  sheets: Pick<Drawn, 'pdf' | 'pageCount'>,
  names: readonly string[],
  dpi: number,
  onProgress?: SheetOptions['onProgress'],
): Promise<Written> {
  switch (output.kind) {
    case 'pdf':
      return together([output.file], [writeBeside(output.file, sheets.pdf)]);
    case 'png':
      if (sheets.pageCount > 1) throw severalPages(output.file, sheets.pageCount);
      return writePages([output.file], sheets, dpi, null, onProgress);
    case 'folder': {
      const files = names.map((name) => join(output.folder, `${name}.png`));
      const newFolder = makeFolder(output.folder) ? output.folder : null;
      return writePages(files, sheets, dpi, newFolder, onProgress);
    }
  }
}

/** A PNG a page. */
async function writePages(
  files: readonly string[],
  { pdf }: Pick<Drawn, 'pdf'>,
  dpi: number,
  newFolder: string | null,
  onProgress: SheetOptions['onProgress'],
): Promise<Written> {
  const besides: FileBeside[] = [];
  const written = together(files, besides, newFolder);
  try {
    const pages = await openPdf(pdf, dpi);
    try {
      for (const [index, file] of files.entries()) {
        besides.push(writeBeside(file, oneBitPng(await pages.page(index + 1), dpi)));
        onProgress?.(index + 1, files.length);
      }
    } finally {
      pages.close();
    }
  } catch (error) {
    written.discard();
    throw error;
  }
  return written;
}

/** Several files as one; a folder made for them goes again if they do. */
function together(
  files: readonly string[],
  besides: readonly FileBeside[],
  newFolder: string | null = null,
): Written {
  return {
    files,
    putInPlace() {
      for (const beside of besides) beside.putInPlace();
    },
    takeBack() {
      for (const beside of besides) beside.takeBack();
    },
    discard() {
      for (const beside of besides) beside.discard();
      if (newFolder !== null && readdirSync(newFolder).length === 0) rmdirSync(newFolder);
    },
  };
}

/** Makes a folder and says whether it was not there before. */
function makeFolder(folder: string): boolean {
  if (existsSync(folder)) return false;
  try {
    mkdirSync(folder);
    return true;
  } catch (cause) {
    throw new InputError(
      'no-such-folder',
      `The folder ${folder} cannot be made (${(cause as NodeJS.ErrnoException).code}).`,
      `Make ${dirname(folder)} first, or name another one.`,
      {},
      [],
      { cause },
    );
  }
}

function severalPages(file: string, pageCount: number): InputError {
  return new InputError(
    'several-pages',
    `${file} holds one page, but there are ${pageCount}.`,
    `Name a folder for them: --out ${file.replace(/\.png$/i, '/')}`,
  );
}

/** `page-1`, `page-2`, … */
export function numberedPages({ pageCount }: Pick<Drawn, 'pageCount'>): string[] {
  return Array.from({ length: pageCount }, (_, index) => `page-${index + 1}`);
}

/** `K7FY5.2` on a roll, where a page is a tag; its copies are numbered. `page-1` on sheets. */
export function pageNames(stock: Stock, sheets: Sheets): string[] {
  if (stock.page.kind === 'sheet') return numberedPages(sheets);
  const { placed } = sheets;
  const copies = new Map<string, number>();
  const numbered = placed.map(({ id, issue }) => {
    const name = `${id}.${issue}`;
    const copy = (copies.get(name) ?? 0) + 1;
    copies.set(name, copy);
    return { name, copy };
  });
  return numbered.map(({ name, copy }) => (copies.get(name) === 1 ? name : `${name}-${copy}`));
}

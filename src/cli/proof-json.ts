/** The document of `proof --json`. Lengths in mm, angles in degrees clockwise, cells from 1. */
import type { Calibration } from '../ledger/model.js';
import type { Cell } from '../sheets/proof/cell-grid.js';
import type { GradedSymbol, Measured, PageProof, TagOnPage } from '../sheets/proof/examine.js';
import { rounded, TOLERANCE_MM } from '../sheets/proof/fit.js';
import { COMPUTED, NOT_COMPUTED } from '../sheets/proof/grade.js';
import type { Point } from '../sheets/proof/projective.js';
import { type FileProof, meanError } from '../sheets/proof/proof.js';

export function proofJson(
  files: readonly FileProof[],
  correction: Calibration | null,
  remembered: { readonly printer: string } | null,
) {
  const pages = files.flatMap(({ file, pages: own }) => own.map((page) => ({ file, page })));
  const list = <T>(of: (page: PageProof) => readonly T[], json: (one: T) => object) =>
    pages.flatMap(({ file, page }) =>
      of(page).map((one) => ({ file, sheet: page.page.sheet.file, page: page.page.number, ...json(one) })),
    );
  const absentPages = files.flatMap(({ file, missingPages, pages: own }) =>
    missingPages.flatMap(({ page, tags }) =>
      tags.map(({ id, issue, row, column }) => ({
        file,
        sheet: own[0]?.page.sheet.file,
        page,
        id,
        issue,
        cell: { row, column },
        because: 'page not in the file',
        instead: null,
      })),
    ),
  );
  const error = meanError(files);
  return {
    expected: pages.reduce((sum, { page }) => sum + page.expectedCount, absentPages.length),
    read: pages.reduce((sum, { page }) => sum + page.readCount, 0),
    missing: [
      ...list(
        ({ missing }) => missing,
        (one) => ({ ...tagJson(one), because: one.because, instead: one.instead }),
      ),
      ...absentPages,
    ],
    unreadable: list(
      ({ unreadable }) => unreadable,
      (one) => ({ ...tagJson(one), symbols: one.symbols }),
    ),
    misplaced: list(
      ({ misplaced }) => misplaced,
      (one) => ({
        ...tagJson(one),
        found_in: cellJson(one.foundIn),
        off_mm: one.offMm && pointJson(one.offMm),
      }),
    ),
    doubles: list(
      ({ doubles }) => doubles,
      (one) => ({ ...tagJson(one), found_in: cellJson(one.foundIn) }),
    ),
    strangers: list(
      ({ strangers }) => strangers,
      ({ text, foundIn }) => ({ text, found_in: cellJson(foundIn) }),
    ),
    scale: error.scale === null ? null : rounded(error.scale, 5),
    offset_mm: error.offsetMm && pointJson(error.offsetMm),
    rotation_deg: error.rotationDeg === null ? null : rounded(error.rotationDeg, 3),
    worst_shift_mm: error.worstShiftMm === null ? null : rounded(error.worstShiftMm, 2),
    tolerance_mm: TOLERANCE_MM,
    correction: correction && correctionJson(correction),
    remembered,
    grading: {
      note: 'compares sheets, does not certify; thresholds of ISO/IEC 15415 and 15416',
      computed: COMPUTED,
      not_computed: NOT_COMPUTED,
    },
    files: files.map(({ file, kind, pages: own }) => ({ file, kind, pages: own.map(pageJson) })),
  };
}

function pageJson({ page, expectedCount, readCount, measured, grades }: PageProof) {
  return {
    sheet: page.sheet.file,
    stock: page.sheet.stock,
    page: page.number,
    printed_with: { nudge_mm: page.sheet.nudgeMm, scale: page.sheet.scale },
    expected: expectedCount,
    read: readCount,
    measured: measured && measuredJson(measured),
    grades: grades.map(gradeJson),
  };
}

function measuredJson(measured: Measured) {
  const { printer, correction } = measured;
  return {
    by: measured.by,
    scale_by: measured.scaleBy,
    symbols: printer.symbolCount,
    residual_mm: rounded(printer.residualMm, 3),
    scale: measured.scale === null ? null : rounded(measured.scale, 5),
    offset_mm: measured.offsetMm && pointJson(measured.offsetMm),
    rotation_deg: printer.rotationDeg === null ? null : rounded(printer.rotationDeg, 3),
    worst_shift_mm: measured.worstShiftMm === null ? null : rounded(measured.worstShiftMm, 2),
    correction: correction && correctionJson(correction),
  };
}

function gradeJson({ tag, kind, grade, pxPerModule }: GradedSymbol) {
  return {
    ...tagJson({ tag }),
    symbol: kind,
    px_per_module: rounded(pxPerModule, 1),
    grade: grade === null ? null : grade.grade,
    letter: grade === null ? null : grade.letter,
    parts:
      grade === null
        ? null
        : Object.fromEntries(
            grade.parts.map((part) => [
              part.name.replaceAll(/[ -]/g, '_'),
              { value: part.value === null ? null : rounded(part.value, 3), grade: part.grade },
            ]),
          ),
  };
}

function correctionJson(correction: Calibration) {
  const { nudgeMm, scale } = correction;
  return { nudge_mm: nudgeMm, scale, options: calibrationOptions(correction) };
}

/** As `tags` takes them. */
export function calibrationOptions({ nudgeMm, scale }: Calibration): string {
  return `--nudge ${nudgeMm.x},${nudgeMm.y} --scale ${scale}`;
}

function tagJson({ tag }: TagOnPage) {
  return { id: tag.id, issue: tag.issue, cell: cellJson(tag.cell) };
}

function cellJson(cell: Cell | null) {
  return cell && { row: cell.row, column: cell.column };
}

function pointJson({ x, y }: Point) {
  return { x: rounded(x, 2), y: rounded(y, 2) };
}

/** What a printer needs for its sheets to come out true: as given, or as the ledger knows it by its name. */
import { InputError } from '../errors.js';
import type { Ledger } from '../ledger/ledger.js';
import type { Calibration } from '../ledger/model.js';

export interface CalibrationOptions {
  readonly printer?: string;
  readonly nudge?: readonly [number, number];
  readonly scale?: number;
}

/** @throws InputError for a printer that was never calibrated */
export async function calibrate(
  ledger: Ledger,
  { printer, nudge, scale }: CalibrationOptions,
): Promise<Calibration> {
  const known = printer === undefined ? undefined : await ledger.calibration(printer);
  if (printer !== undefined && known === undefined && nudge === undefined && scale === undefined) {
    throw new InputError(
      'unknown-printer',
      `Nothing is known of a printer "${printer}".`,
      `Give its --nudge and --scale, which are remembered; or print a sheet without --printer, scan it, and run: pottag proof SCAN.png --printer "${printer}".`,
    );
  }
  const nudgeMm = nudge === undefined ? { x: 0, y: 0 } : { x: nudge[0], y: nudge[1] };
  return {
    nudgeMm: nudge === undefined ? (known?.nudgeMm ?? nudgeMm) : nudgeMm,
    scale: scale ?? known?.scale ?? 1,
  };
}

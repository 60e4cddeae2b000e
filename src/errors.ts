/**
 * The two kinds of error a person meets. A fault of Pottag itself is an ordinary `Error` (usually
 * from `assert`) and is nobody's to catch but the command line's outermost frame.
 */

/** Where in a person's input something is wrong. Lines count from 1. */
export interface Place {
  readonly file?: string;
  readonly line?: number;
  /** A column's heading in a CSV, a path such as `cells.columns` in a stock file. */
  readonly column?: string;
}

/** One thing wrong with an input of many parts; all are collected before anything is refused. */
export interface Problem {
  readonly line: number | null;
  readonly column: string | null;
  readonly problem: string;
}

/** The call or its input was wrong, and nothing was written (exit code 2). */
export class InputError extends Error {
  override readonly name = 'InputError';

  /**
   * @param code stable and machine-readable, e.g. `unknown-stock`
   * @param message what was wrong, as one sentence, quoting the value
   * @param hint what to do next, as one sentence
   */
  constructor(
    readonly code: string,
    message: string,
    readonly hint: string,
    readonly place: Place = {},
    readonly problems: readonly Problem[] = [],
    options?: ErrorOptions,
  ) {
    super(message, options);
  }
}

export type LedgerErrorCode =
  | 'missing'
  | 'locked'
  | 'damaged'
  | 'newer'
  | 'full'
  | 'unwritable'
  | 'unreachable';

/** The ledger, or the disk it is on, cannot be used (exit code 3). */
export class LedgerError extends Error {
  override readonly name = 'LedgerError';

  constructor(
    readonly code: LedgerErrorCode,
    message: string,
    readonly hint: string,
    options?: ErrorOptions,
  ) {
    super(message, options);
  }
}

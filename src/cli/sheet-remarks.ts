/** What of a sheet did not come out as it stands in the ledger. */
import type { Drawn } from '../sheets/sheets.js';
import { columns, yellow } from './console.js';
import type { Context } from './context.js';

const MOST_REMARKS = 10;

export function remark(
  { console }: Context,
  { shortened, missingGlyphs }: Pick<Drawn, 'shortened' | 'missingGlyphs'>,
): void {
  if (shortened.length > 0) {
    console.talk(`${yellow('Shortened to fit:')}`);
    const rows = shortened
      .slice(0, MOST_REMARKS)
      .map(({ id, field, full, shown }) => [id, field, full, `→ ${shown}`]);
    console.talk(columns(rows, '  '));
    if (shortened.length > MOST_REMARKS) console.talk(`  … and ${shortened.length - MOST_REMARKS} more`);
  }
  if (missingGlyphs.length > 0) {
    console.talk(`${yellow('No letters for these, drawn as a box:')}`);
    const rows = missingGlyphs.slice(0, MOST_REMARKS).map(({ character, name }) => [character, name]);
    console.talk(columns(rows, '  '));
  }
}

/** A scan resolved by the phone's copy of the plants, beside the same scan resolved by the ledger itself. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { idOfNumber } from '../../src/ids/allocation.js';
import { ALPHABET } from '../../src/ids/alphabet.js';
import { resolve } from '../../src/scan/resolve.js';
import { gardenOf } from '../../src/web/garden.js';
import { tagBookOf } from '../../src/web/page/tag-book.js';
import { scanView } from '../../src/web/views.js';
import { ledgerWith, seedling } from '../support/ledger.js';

const PLACE = { stock: 'a4', sheet: 'x.pdf', page: 1, row: 1, column: 1 };

/**
 * Forty plants; every second one has a tag, every fourth three issues, every eighth the last of them void, and of these
 * every second one for an exchange with the plant after it.
 */
async function garden() {
  const plants = Array.from({ length: 40 }, (_, index) =>
    seedling(`plant ${index}`, { station: `bench ${index}` }),
  );
  const { ledger, ids } = await ledgerWith(plants);
  await ledger.write('wren', async (writer) => {
    for (const [index, id] of ids.entries()) {
      const issues = index % 4 === 0 ? 3 : index % 2 === 0 ? 1 : 0;
      for (let issue = 1; issue <= issues; issue++) {
        await writer.append({ kind: 'tag-issued', body: { id, issue, ...PLACE } });
      }
      const why = index % 16 === 0 ? 'exchanged' : 'lost';
      if (index % 8 === 0) await writer.append({ kind: 'tag-voided', body: { id, issue: 3, why } });
      const after = ids[index + 1];
      if (index % 16 !== 0 || after === undefined) continue;
      const days = { since: '2026-05-01', until: '2026-06-01' };
      await writer.append({ kind: 'exchanged', body: { a: id, b: after, ...days } });
    }
  });
  return { ledger, ids, book: tagBookOf(JSON.parse(JSON.stringify(await gardenOf(ledger)))) };
}

describe('the phone’s copy', () => {
  it('resolves whatever is scanned or typed as the ledger does', async () => {
    const { ledger, ids, book } = await garden();
    const strangers = [idOfNumber(1000, 5), idOfNumber(2000, 5)];
    const statuses = new Set<string>();
    const worn = new Set<number>();
    const character = fc.constantFrom(...ALPHABET, '?', 'o', 'l', 'u', ' ', '.');
    const edited = fc
      .tuple(fc.constantFrom(...ids), fc.nat(4), character, fc.constantFrom('', '.1', '.2', '.3', '.4', '.?'))
      .map(([id, at, other, issue]) => `${id.slice(0, at)}${other}${id.slice(at + 1)}${issue}`);
    const tag = fc
      .tuple(fc.constantFrom(...ids, ...strangers), fc.constantFrom('', '.1', '.2', '.3', '.4'))
      .map(([id, issue]) => `${id}${issue}`);
    const text = fc.oneof(tag, edited, fc.string({ unit: character, maxLength: 8 }), fc.string());
    await fc.assert(
      fc.asyncProperty(text, async (scanned) => {
        const byLedger = await resolve(ledger, scanned);
        statuses.add(byLedger.status);
        if (byLedger.status === 'void') worn.add(byLedger.candidates.length);
        expect(scanView(await resolve(book, scanned), 5)).toEqual(scanView(byLedger, 5));
      }),
      { seed: 20261125, numRuns: 3000 },
    );
    expect([...worn].sort()).toEqual([0, 1]);
    expect([...statuses].sort()).toEqual(
      ['current', 'not-a-tag', 'superseded', 'unissued', 'unknown', 'unreadable', 'void'].sort(),
    );
  });
});

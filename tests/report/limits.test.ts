/** A page of a large garden stays one that can be sent and leafed through, and says what it leaves out. */
import { describe, expect, it } from 'vitest';
import { makeReport } from '../../src/report/report.js';
import { ledgerWith, seedling } from '../support/ledger.js';

describe('the page of a large garden', () => {
  it('draws what can be looked at and says what is left out', async () => {
    const { ledger, ids } = await ledgerWith(
      Array.from({ length: 4000 }, (_, index) =>
        seedling(`N${index}`, {
          seedParent: `Seed ${index % 40}`,
          pollenParent: `Pollen ${index % 7}`,
          sown: '2022-02-11',
          station: `bench ${Math.floor(index / 100)} / row ${Math.floor(index / 10) % 10} / ${index % 10}`,
        }),
      ),
    );
    await ledger.write('wren', async (writer) => {
      for (const [index, id] of ids.entries()) {
        const date = `2025-09-${10 + (Math.floor(index / 280) % 20)}`;
        const values = {
          fruit: 'ripe',
          wood: 'new',
          pollination: 'none',
          inside: 'pulp',
          liking: 1 + (index % 9),
        };
        await writer.append({ kind: 'observed', body: { id, issue: null, date, values, photo: null } });
      }
    });
    const { text, sections } = await makeReport(ledger, '2026-11-25');
    expect(text).toContain('The 12 crosses with the most seedlings are drawn, of 280.');
    expect(text).toContain('The first 1,000 stations are drawn, of 4,000');
    expect(text).toContain('The best 25 of 4,000.');
    expect(text).toContain('… and 80 more that are not listed here.');
    expect(sections.find(({ id }) => id === 'benches')?.plots).toBe(10);
    expect(sections.find(({ id }) => id === 'ripening')?.plots).toBe(24);
    // Fonts are 0.13 MB of it. 100,000 plants make 1.4.
    expect(Buffer.byteLength(text)).toBeLessThan(1_600_000);
  });
});

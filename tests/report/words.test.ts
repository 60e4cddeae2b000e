/** What the page says in words and marks, of a small garden looked at by hand. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { create } from '@pdf-lib/fontkit';
import { parseHTML } from 'linkedom';
import { describe, expect, it } from 'vitest';
import type { PlantFields } from '../../src/ledger/model.js';
import { makeReport } from '../../src/report/report.js';
import { ledgerWith, seedling } from '../support/ledger.js';

const TYPEFACE =
  '@expo-google-fonts/atkinson-hyperlegible-next/400Regular/AtkinsonHyperlegibleNext_400Regular.ttf';

/** Three seedlings of 2021 in the yard, the first of which fruited; two young ones of 2025 beside a wall. */
async function page() {
  const old = (letter: string) =>
    seedling(`old ${letter}`, { ...cross('Wether', 'Ram'), sown: '2021-03-01', station: `yard ${letter}` });
  const young = (place: number) =>
    seedling(`young ${place}`, { ...cross('Dusk', 'Ram'), sown: '2025-03-01', station: `wall ${place}` });
  const { ledger, ids } = await ledgerWith([old('A'), old('B'), old('D'), young(1), young(2)]);
  const [id] = ids;
  if (id === undefined) throw new Error('five plants');
  await ledger.write('wren', async (writer) => {
    for (const values of [{ fruit: 'ripe', liking: 8 }, { brix: 18 }, { keep: 'yes' }]) {
      const body = { id, issue: null, date: '2025-09-10', values, photo: null };
      await writer.append({ kind: 'observed', body });
    }
  });
  return parseHTML((await makeReport(ledger, '2026-11-25')).text).document;
}

function cross(seedParent: string, pollenParent: string): Partial<PlantFields> {
  return { seedParent, pollenParent };
}

type Page = Awaited<ReturnType<typeof page>>;

/** The table whose title begins like this, its headings first. */
function rowsOf(document: Page, title: string): string[][] {
  const found = [...document.querySelectorAll('details')].find((each) => each.textContent?.startsWith(title));
  return [...(found?.querySelectorAll('tr') ?? [])].map((row) =>
    [...row.querySelectorAll('th, td')].map((cell) => cell.textContent ?? ''),
  );
}

describe('the page', () => {
  // A character that it lacks is an empty box on a machine without another typeface, as printers' are.
  it('uses no sign that its typeface lacks, but for the letter of the test', async () => {
    const document = await page();
    const font = create(readFileSync(createRequire(import.meta.url).resolve(TYPEFACE)));
    const signs = new Set<string>(document.body.textContent);
    expect(signs.size).toBeGreaterThan(50);
    const lacking = [...signs].filter((sign) => !font.hasGlyphForCodePoint(sign.codePointAt(0) as number));
    expect(lacking.filter((sign) => sign > ' ' && sign !== 'χ')).toEqual([]);
    expect(document.querySelectorAll('#benches .key svg')).toHaveLength(3);
  });

  it('heads the places of a bench as its stations are called', async () => {
    const document = await page();
    const [yard] = [...document.querySelectorAll('#benches figure')].filter((each) =>
      each.querySelector('h3')?.textContent?.includes('yard'),
    );
    const words = [...(yard?.querySelectorAll('svg text') ?? [])].map(({ textContent }) => textContent);
    expect(words.slice(0, 3)).toEqual(['A', 'B', 'D']);
    expect(yard?.textContent).toContain('3 alive, 1 of them has fruited, 1 keeper');
    expect(document.querySelector('#benches')?.textContent).toContain('2 alive, none of them has fruited');
  });

  it('does not say how many still wait at an age that no plant of the cross has', async () => {
    const document = await page();
    const [old, young] = ['Wether', 'Dusk'].map((parent) =>
      [...document.querySelectorAll('#first-fruit figure')]
        .find((each) => each.querySelector('h3')?.textContent?.includes(parent))
        ?.querySelector('svg'),
    );
    const under = (svg: typeof old) =>
      [...(svg?.querySelectorAll('text') ?? [])].map(({ textContent }) => textContent).slice(-7);
    // In November 2026 those of March 2021 are 5.7 years old, and one bore at 4.5; those of 2025 are 1.7.
    expect(under(old)).toEqual(['3', '3', '3', '3', '3', '2', '–']);
    expect(under(young)).toEqual(['2', '2', '–', '–', '–', '–', '–']);
    expect(young?.querySelector('desc')?.textContent).toBe(
      'after 1: 100\u00a0% without fruit, 2 still waiting',
    );
  });

  it('gives no p for a cross of which no type is called', async () => {
    const document = await page();
    const [headings, ...rows] = rowsOf(document, 'Table: seedlings and types of each cross');
    const p = headings?.indexOf('Exact p') ?? -1;
    expect(p).toBeGreaterThan(0);
    expect(rows.map((row) => [row[0], row[p], row[p + 1]])).toEqual([
      ['Wether × Ram', '', ''],
      ['Dusk × Ram', '', ''],
    ]);
  });

  it('heads the columns of the ranking so that each says what it is', async () => {
    const document = await page();
    const [headings] = rowsOf(document, 'Table: the best');
    expect(headings).toContain('Rank, 9 in 10');
    expect(headings).toContain('brix, °Bx (times measured)');
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { canonical } from '../../src/ids/alphabet.js';
import type { IdLength, PlantId } from '../../src/ids/plant-id.js';
import { findSoundId } from '../../src/ids/plant-id.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import type { ObservedValues } from '../../src/ledger/model.js';
import {
  ScanSession,
  SESSION_WORDS,
  type SessionEvent,
  type SessionOptions,
} from '../../src/scan/session.js';
import { enrolInto, freshLedger, ledgerWith, seedling } from '../support/ledger.js';

const [A, B] = ['PXSV9', 'DZK67'] as const;

async function garden(): Promise<Ledger> {
  const { ledger, ids } = await ledgerWith([seedling('a', { sown: '2024-03-10' }), seedling('b')]);
  expect(ids).toEqual([A, B]);
  return ledger;
}

function newSession(ledger: Ledger, options: Partial<SessionOptions> = {}): ScanSession {
  const [today, date] = ['2026-09-20', '2026-09-20'];
  return new ScanSession(ledger, { by: 'wren', today, date, values: {}, ...options });
}

/** Runs a whole session, to its end. */
async function run(ledger: Ledger, lines: readonly string[], options: Partial<SessionOptions> = {}) {
  const session = newSession(ledger, options);
  const events: SessionEvent[] = [];
  for (const line of lines) events.push(...(await session.line(line)));
  events.push(...(await session.end()));
  return { session, events, kinds: events.map(({ kind }) => kind) };
}

async function recorded(ledger: Ledger): Promise<Record<string, ObservedValues[]>> {
  const found: Record<string, ObservedValues[]> = {};
  for (const { id } of await ledger.plants({})) {
    const observations = await ledger.observations(id);
    if (observations.length > 0) found[id] = observations.map(({ values }) => values);
  }
  return found;
}

describe('a session', () => {
  it('records the lines after a tag under its plant, until the next tag or the end', async () => {
    const ledger = await garden();
    const lines = [A, 'fruit ripe', 'brix 18.5', '', B, 'liking: 8', 'note=sweet, thin skin'];
    const { events, session } = await run(ledger, lines);
    expect(events.map(({ kind }) => kind)).toEqual(
      'scanned noted noted saved scanned noted noted saved'.split(' '),
    );
    expect(await recorded(ledger)).toEqual({
      [A]: [{ fruit: 'ripe', brix: 18.5 }],
      [B]: [{ liking: 8, note: 'sweet, thin skin' }],
    });
    expect(session.scans.map(({ observation }) => observation?.by)).toEqual(['wren', 'wren']);
    expect(session.problems).toEqual([]);
  });

  it('writes nothing for a plant on which nothing was seen', async () => {
    const ledger = await garden();
    const { kinds } = await run(ledger, [A, B]);
    expect(kinds).toEqual(['scanned', 'scanned']);
    expect(await recorded(ledger)).toEqual({});
  });

  it('records what was seen on all under each plant', async () => {
    const ledger = await garden();
    await run(ledger, [A, 'brix 18', B], { values: { pollination: 'open' } });
    expect(await recorded(ledger)).toEqual({
      [A]: [{ pollination: 'open', brix: 18 }],
      [B]: [{ pollination: 'open' }],
    });
  });

  const closing: readonly (readonly [what: string, line: string])[] = [
    ['misread', 'DZK68'],
    ['illegible', 'DZ?67'],
    ['of no plant', 'K7FY5'],
    ['never issued', `${B}.1`],
    ['no tag', 'LOT 4711'],
    ['a word that is not known, with a value', 'bark: smooth'],
    ['the same, in the shape of a damaged ID', 'bark 5'],
    ['a mistyped word alone', 'weigth'],
  ];
  for (const [what, line] of closing) {
    it(`when a line is ${what}, closes the plant: what follows is not recorded, and that is said`, async () => {
      const ledger = await garden();
      const { events } = await run(ledger, [A, 'brix 18', line, 'brix 20']);
      expect(await recorded(ledger)).toEqual({ [A]: [{ brix: 18 }] });
      expect(events.at(-1)).toMatchObject({ kind: 'problem', line: 4 });
    });
  }

  // `brx 20` has the shape of a damaged ID, spaces being ignored there.
  for (const line of ['brx 20', 'brixx: 20', 'heigth 60 cm']) {
    it(`when a line is "${line}", says what was meant, and the plant stays open`, async () => {
      const ledger = await garden();
      const { events, session } = await run(ledger, [A, 'brix 18', line, 'liking 7']);
      expect(await recorded(ledger)).toEqual({ [A]: [{ brix: 18, liking: 7 }] });
      expect(events[2]).toMatchObject({ kind: 'problem', line: 3 });
      expect(session.problems[0]?.problem).toMatch(
        /is no trait \(did you mean .*not recorded\. PXSV9 is still open\./,
      );
      expect(session.scans).toHaveLength(1);
    });
  }

  it('"leaf 5" is what was seen, "pxs v9" a tag', async () => {
    const ledger = await garden();
    const { session } = await run(ledger, ['leaf 5', B, 'leaf 5', 'pxs v9', 'leaf dreilappig']);
    expect(await recorded(ledger)).toEqual({ [A]: [{ leaf: 'dreilappig' }], [B]: [{ leaf: '5' }] });
    expect(session.problems.map(({ line }) => line)).toEqual([1]);
  });

  it('"yes" takes the one plant that was offered', async () => {
    const ledger = await garden();
    const { session } = await run(ledger, [A, 'brix 18', 'DZ?67', 'brix 19', 'YES', 'brix 20']);
    expect(await recorded(ledger)).toEqual({ [A]: [{ brix: 18 }], [B]: [{ brix: 20 }] });
    expect(session.scans.map(({ id, status }) => [id, status])).toEqual([
      [A, 'current'],
      [B, 'current'],
    ]);
  });

  for (const before of [[], [A], ['K7FY5'], ['?????'], ['DZ?67', 'yes']]) {
    it(`"yes" after ${before.join(' and ') || 'nothing'} takes nothing, and says so`, async () => {
      const ledger = await garden();
      const { events, session } = await run(ledger, [...before, 'yes']);
      expect(events.at(-1)).toMatchObject({ kind: 'problem' });
      expect(session.problems).toHaveLength(1);
      expect(await recorded(ledger)).toEqual({});
    });
  }

  it('when the scanner fires twice, nothing is recorded twice', async () => {
    const ledger = await garden();
    const { session } = await run(ledger, [A, A, 'brix 18', B, B, B]);
    expect(await recorded(ledger)).toEqual({ [A]: [{ brix: 18 }] });
    expect(session.scans).toHaveLength(2);
  });

  // No double fire of the scanner: the second reading takes the place of none.
  it('when a plant is scanned again after something was seen, both are recorded', async () => {
    const ledger = await garden();
    await run(ledger, [A, 'brix 18', A, 'brix 19']);
    expect(await recorded(ledger)).toEqual({ [A]: [{ brix: 18 }, { brix: 19 }] });
  });

  it('when a second note is typed, adds it to the first, and says both', async () => {
    const ledger = await garden();
    const { events } = await run(ledger, [A, 'note thin skin', 'note split at the eye']);
    expect(await recorded(ledger)).toEqual({ [A]: [{ note: 'thin skin; split at the eye' }] });
    expect(events[2]).toEqual({ kind: 'noted', what: 'note thin skin; split at the eye' });
  });

  it('when a value is not allowed, says what is, keeps the plant open and the rest of what was seen', async () => {
    const ledger = await garden();
    const { events, session } = await run(ledger, [A, 'fruit ripe', 'brix 185', 'brix 18,5', 'wood']);
    expect(events.filter(({ kind }) => kind === 'problem')).toHaveLength(2);
    expect(session.problems[0]).toMatchObject({ line: 3 });
    expect(session.problems[0]?.problem).toMatch(/"185".*0 to 40/);
    expect(session.problems[1]?.problem).toMatch(/new, old/);
    expect(await recorded(ledger)).toEqual({ [A]: [{ fruit: 'ripe', brix: 18.5 }] });
  });

  it('when something is typed before any tag, says that no plant is open', async () => {
    const ledger = await garden();
    const { kinds } = await run(ledger, ['brix 18', 'date 2026-09-14', 'yes']);
    expect(kinds).toEqual(['problem', 'problem', 'problem']);
  });

  it('a line closed by a carriage return reads the same', async () => {
    const ledger = await garden();
    await run(ledger, [`${A}\r`, 'brix 18\r']);
    expect(await recorded(ledger)).toEqual({ [A]: [{ brix: 18 }] });
  });
});

describe('the date', () => {
  it('is the session’s, or that of a line for the plant it follows alone', async () => {
    const ledger = await garden();
    await run(ledger, [A, 'date 2026-09-14', 'brix 18', B, 'brix 19']);
    const dates = async (id: string) => (await ledger.observations(id as PlantId)).map(({ date }) => date);
    expect(await dates(A)).toEqual(['2026-09-14']);
    expect(await dates(B)).toEqual(['2026-09-20']);
  });

  for (const [what, date] of [
    ['in the future', '2026-09-21'],
    ['before the sowing', '2024-03-09'],
    ['no day', '14.9.'],
  ] as const) {
    it(`when it is ${what}, says so at once and keeps what was seen`, async () => {
      const ledger = await garden();
      const { events } = await run(ledger, [A, 'brix 18', `date ${date}`]);
      expect(events.map(({ kind }) => kind)).toEqual(['scanned', 'noted', 'problem', 'saved']);
      expect(await recorded(ledger)).toEqual({ [A]: [{ brix: 18 }] });
    });
  }

  it('when it is of no calendar, says so and keeps what was seen', async () => {
    const ledger = await garden();
    const { kinds } = await run(ledger, [A, 'brix 18', 'date 2026-13-01']);
    expect(kinds).toEqual(['scanned', 'noted', 'problem', 'saved']);
  });

  it('when the session’s is before a plant was sown, says that nothing was saved, and goes on', async () => {
    const ledger = await garden();
    const { session } = await run(ledger, [A, 'brix 18', B, 'brix 19'], { date: '2024-03-09' });
    expect(session.problems).toHaveLength(2);
    expect(session.problems[0]).toMatchObject({ line: 1, problem: expect.stringMatching(/sown/) });
    expect(session.problems[1]?.problem).toMatch(/sown.*Nothing was saved/s);
    expect(await recorded(ledger)).toEqual({ [B]: [{ brix: 19 }] });
  });
});

describe('with longer IDs', () => {
  for (const idLength of [6, 7] as const) {
    it(`of ${idLength} characters, words with values stay words`, async () => {
      const ledger = await freshLedger(idLength);
      const [id = ''] = await ledger.write('wren', (writer) => enrolInto(writer, idLength, [seedling('a')]));
      // Spaces being ignored in an ID, each of these has the shape of a tag of 6 or 7 characters.
      await run(ledger, [id, 'brix 18.5', 'brix 18', 'note 12', 'wood old', 'wood new', 'date 2026-09-14']);
      expect(await recorded(ledger)).toEqual({ [id]: [{ brix: 18, note: '12', wood: 'new' }] });
    });
  }

  it('no word of a session is a sound ID', () => {
    for (const word of SESSION_WORDS) {
      for (const length of [5, 6, 7] as IdLength[]) {
        expect(findSoundId(canonical(word), length)).toBeUndefined();
      }
    }
  });
});

/** A line, and what it means by its making, apart from the product's reading of it. */
type Line =
  | { readonly text: string; readonly means: 'opens A' | 'opens B' | 'closes' | 'nothing' }
  | { readonly text: string; readonly means: 'seen'; readonly note: string };

let noteCount = 0;

const line: fc.Arbitrary<Line> = fc.oneof(
  {
    weight: 3,
    arbitrary: fc.constantFrom(A, 'pxsv9', ` ${A} `).map((text) => ({ text, means: 'opens A' as const })),
  },
  { weight: 3, arbitrary: fc.constantFrom(B, 'dz-k67').map((text) => ({ text, means: 'opens B' as const })) },
  {
    weight: 6,
    arbitrary: fc.constantFrom('note ', 'NOTE: ', 'flavour=').map((word) => {
      const note = `seen ${noteCount++}`;
      return { text: word + note, means: 'seen' as const, note };
    }),
  },
  {
    weight: 2,
    arbitrary: fc
      .constantFrom('PXSV8', 'K7FY5', 'P????', 'hello', '18.5', `${A}.7`, 'brixx3', 'bark 5', 'LOT 4711')
      .map((text) => ({ text, means: 'closes' as const })),
  },
  {
    weight: 2,
    arbitrary: fc
      .string({ unit: 'grapheme', minLength: 1, maxLength: 30 })
      .filter(
        (text) => text.trim() !== '' && !/^[\s\p{Pd}]*[\p{L}\p{N}?\s\p{Pd}]{4,12}[.\d?\s]*$/u.test(text),
      )
      .map((text) => ({ text, means: 'closes' as const })),
  },
  {
    weight: 2,
    arbitrary: fc
      .constantFrom('', '   ', 'brix 99', 'wood', 'date soon', 'liking 0', 'brixx 3', 'heigth 40')
      .map((text) => ({ text, means: 'nothing' as const })),
  },
);

it('any lines: nothing throws, and all that is seen lands on the plant last opened or is said not to', async () => {
  const ledger = await garden();
  await fc.assert(
    fc.asyncProperty(fc.array(line, { maxLength: 40 }), async (lines) => {
      const session = newSession(ledger);
      const plantOf = new Map<string, string>();
      let open: string | undefined;
      for (const each of lines) {
        const events = await session.line(each.text);
        if (each.means === 'opens A') open = A;
        else if (each.means === 'opens B') open = B;
        else if (each.means === 'closes') open = undefined;
        else if (each.means === 'seen' && open !== undefined) plantOf.set(each.note, open);
        else if (each.means === 'seen') expect(events.map(({ kind }) => kind)).toEqual(['problem']);
      }
      await session.end();
      const notes = new Map<unknown, string>();
      for (const [id, observations] of Object.entries(await recorded(ledger))) {
        for (const { note, flavour } of observations) {
          for (const text of [note, flavour]) for (const part of `${text}`.split('; ')) notes.set(part, id);
        }
      }
      // Further notes of a plant are added to the first, so every one is there, and in its place.
      const made = lines.flatMap((each) => (each.means === 'seen' ? [each.note] : []));
      for (const note of made) expect(notes.get(note)).toBe(plantOf.get(note));
    }),
    { seed: 20261125, numRuns: 150 },
  );
});

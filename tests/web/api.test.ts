/** What phones ask and send, over real HTTP: recorded once, on the right plant, and nothing but pictures kept. */
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { v7 as timeOrderedUuid } from 'uuid';
import { describe, expect, it } from 'vitest';
import { checkLedger } from '../../src/ledger/check.js';
import type { Photo } from '../../src/ledger/model.js';
import { openLedger } from '../../src/ledger/sqlite-ledger.js';
import { readWalk } from '../../src/walk/rows.js';
import type { GardenView, RecordedView, RecordView, ScanView, TypeView } from '../../src/web/views.js';
import { NOON, seedling } from '../support/ledger.js';
import { sampleQrTag } from '../support/sample-tag.js';
import { type Answer, ask, codeOf, pair, type Served, serve, TODAY } from './served.js';

const json = <T>({ text }: Answer): T => JSON.parse(text) as T;

interface Phone {
  get(path: string): Promise<Answer>;
  post(path: string, body: unknown, more?: Record<string, string>): Promise<Answer>;
}

async function phone(served: Served, name = 'Wren'): Promise<Phone> {
  const headers = { Cookie: await pair(served, name) };
  return {
    get: (path) => ask(served, path, { headers }),
    post: (path, body, more = {}) =>
      ask(served, path, {
        headers: { ...headers, ...more },
        body: body instanceof Uint8Array ? body : JSON.stringify(body),
      }),
  };
}

const seen = (id: string | undefined, values: Record<string, string> = { fruit: 'ripe' }) => ({
  entry: timeOrderedUuid(),
  id: id ?? '',
  issue: null as number | null,
  date: TODAY,
  values,
  photo: null as Photo | null,
});

const observationsOn = async ({ ledger, ids }: Served, index: number) =>
  ledger.observations(ids[index] as never);

/** Two plants; the first has two issues of its tag. */
async function garden(): Promise<Served> {
  const served = await serve([
    seedling('a', {
      seedParent: 'Quillon Dusk',
      pollenParent: 'Stannick',
      station: 'bench 1 / 1',
      sown: '2024-02',
    }),
    seedling('b'),
  ]);
  const place = { stock: 'a4', sheet: 'x.pdf', page: 1, row: 1, column: 1 };
  await served.ledger.write('wren', async (writer) => {
    const [id] = served.ids;
    if (id === undefined) throw new Error('two plants');
    await writer.append({ kind: 'tag-issued', body: { id, issue: 1, ...place } });
    await writer.append({ kind: 'tag-issued', body: { id, issue: 2, ...place } });
  });
  return served;
}

async function photoOfTag(text: string): Promise<Buffer> {
  const { data, width, height } = (await sampleQrTag(text)).face;
  return sharp(data, { raw: { width, height, channels: 1 } })
    .jpeg()
    .toBuffer();
}

describe('scanning', () => {
  it('answers as the command does: current, superseded, unissued, unknown, damaged, no tag', async () => {
    const served = await garden();
    const { get } = await phone(served);
    const [id = ''] = served.ids;
    const scan = async (text: string) =>
      json<ScanView>(await get(`/api/scan?text=${encodeURIComponent(text)}`));
    expect(await scan(`${id}.2`)).toMatchObject({
      status: 'current',
      issue: 2,
      plant: { id, cross: 'Quillon Dusk × Stannick', station: 'bench 1 / 1' },
    });
    expect(await scan(`${id}.1`)).toMatchObject({ status: 'superseded', plant: { id } });
    expect(await scan(`${id}.3`)).toMatchObject({ status: 'unissued', plant: { id } });
    expect(await scan('K7FY5')).toMatchObject({ status: 'unknown', plant: null });
    const damaged = await scan(`?${id.slice(1, 4)}?`);
    expect(damaged).toMatchObject({ status: 'unreadable', plant: null, candidates: [{ plant: { id } }] });
    expect(await scan('https://example.org/x?y=1&z=2')).toMatchObject({ status: 'not-a-tag', plant: null });
    expect(await scan('')).toMatchObject({ status: 'not-a-tag' });
  });

  it('reads the tag in a photo, and refuses what is no picture', async () => {
    const served = await garden();
    const { post } = await phone(served);
    const [id = ''] = served.ids;
    const jpeg = await photoOfTag(`${id}.2`);
    const { scans } = json<{ scans: ScanView[] }>(await post('/api/scan', jpeg));
    expect(scans).toMatchObject([{ status: 'current', plant: { id } }]);
    const refused = await post('/api/scan', Buffer.from('<script>alert(1)</script>'));
    expect([refused.status, codeOf(refused)]).toEqual([422, 'not-a-picture']);
  });

  it('reads pictures of a live camera together, and refuses what is none and too many', async () => {
    const served = await garden();
    const { post } = await phone(served);
    const [id = ''] = served.ids;
    const jpeg = await photoOfTag(`${id}.2`);
    const send = async (frames: readonly (Uint8Array | string)[]) => {
      const form = new FormData();
      for (const frame of frames) {
        form.append('frame', typeof frame === 'string' ? frame : new Blob([new Uint8Array(frame)]));
      }
      const made = new Request('http://127.0.0.1/', { method: 'POST', body: form });
      const headers = { 'Content-Type': made.headers.get('content-type') ?? '' };
      return post('/api/frames', new Uint8Array(await made.arrayBuffer()), headers);
    };
    const { scans } = json<{ scans: ScanView[] }>(await send([jpeg, jpeg]));
    expect(scans).toMatchObject([{ status: 'current', plant: { id }, how: { by: 'decoder' } }]);
    const codes = [];
    for (const frames of [[], ['text'], Array(6).fill(jpeg), [jpeg, Buffer.from('no picture')]]) {
      const refused = await send(frames);
      codes.push([refused.status, codeOf(refused)]);
    }
    expect(codes).toEqual([
      [422, 'bad-request'],
      [422, 'bad-request'],
      [422, 'bad-request'],
      [422, 'not-a-picture'],
    ]);
    expect((await post('/api/frames', new Uint8Array(5 * 1024 * 1024))).status).toBe(413);
  });

  it('gives a phone a copy of the plants, and says when it is the same still', async () => {
    const served = await garden();
    const { get } = await phone(served);
    const copy = json<GardenView>(await get('/api/garden'));
    expect(copy.idLength).toBe(5);
    expect(copy.plants).toMatchObject([
      { plant: { id: served.ids[0] }, tag: { issue: 2, status: 'current' } },
      { plant: { id: served.ids[1] }, tag: null },
    ]);
    expect(json<object>(await get(`/api/garden?known=${copy.version}`))).toMatchObject({ same: true });
    expect(json<GardenView>(await get('/api/garden?known=x')).plants.length).toBe(2);
  });
});

describe('an observation', () => {
  it('is recorded under the plant, by the device, and shown', async () => {
    const served = await garden();
    const { get, post } = await phone(served, 'Tansy');
    const [id] = served.ids;
    const sent = { ...seen(id, { fruit: 'ripe', brix: '18,5', flavour: 'honey' }), issue: 2 };
    const recorded = json<RecordedView>(await post('/api/observations', sent));
    expect(recorded).toMatchObject({ observation: { entry: sent.entry, by: 'Tansy' }, doubt: null });
    expect(await observationsOn(served, 0)).toMatchObject([
      {
        entry: sent.entry,
        issue: 2,
        by: 'Tansy',
        date: TODAY,
        values: { fruit: 'ripe', brix: 18.5, flavour: 'honey' },
      },
    ]);
    const record = json<RecordView>(await get(`/api/plants/${id}`));
    expect(record.observations).toMatchObject([{ entry: sent.entry, values: { fruit: 'ripe' } }]);
    const type = json<TypeView>(await get(`/api/plants/${id}/type`));
    expect(type.shares.reduce((sum, { share }) => sum + share, 0)).toBeCloseTo(1, 9);
  });

  it('that arrives again, or many times at once, is recorded once and answered alike', async () => {
    const served = await garden();
    const { post } = await phone(served);
    const sent = seen(served.ids[1]);
    const answers = await Promise.all(Array.from({ length: 20 }, () => post('/api/observations', sent)));
    answers.push(await post('/api/observations', sent));
    expect(new Set(answers.map(({ status }) => status))).toEqual(new Set([200]));
    expect(new Set(answers.map((answer) => json<RecordedView>(answer).observation.entry)).size).toBe(1);
    expect((await observationsOn(served, 1)).length).toBe(1);
    expect(checkLedger(served.ledger.folder, () => {}).findings).toEqual([]);
  });

  it('that was withdrawn stays so when it arrives once more', async () => {
    const served = await garden();
    const { post } = await phone(served);
    const sent = seen(served.ids[1]);
    await post('/api/observations', sent);
    for (let time = 0; time < 2; time++) {
      expect((await post('/api/withdrawals', { entry: sent.entry })).status).toBe(200);
    }
    expect((await post('/api/observations', sent)).status).toBe(200);
    expect(await observationsOn(served, 1)).toEqual([]);
    expect((await served.ledger.withdrawnObservations(served.ids[1] as never)).length).toBe(1);
    expect(checkLedger(served.ledger.folder, () => {}).findings).toEqual([]);
  });

  it('with the ID of another entry is refused', async () => {
    const served = await garden();
    const { post } = await phone(served);
    const sent = seen(served.ids[1]);
    await post('/api/observations', sent);
    const enrolled = (await served.ledger.change(2))?.id;
    for (const other of [
      { ...sent, id: served.ids[0] },
      { ...sent, date: '2026-09-13' },
      { ...sent, values: { fruit: 'set' } },
      { ...sent, values: { fruit: 'ripe', note: 'split' } },
      { ...sent, entry: enrolled },
    ]) {
      const answer = await post('/api/observations', other);
      expect([answer.status, codeOf(answer)]).toEqual([409, 'entry-taken']);
    }
    // Typed otherwise, it is the same: nothing new was seen.
    expect((await post('/api/observations', { ...sent, values: { fruit: ' Ripe ' } })).status).toBe(200);
    expect((await observationsOn(served, 1)).length).toBe(1);
  });

  it('that was recorded, and is sent again by the phone under a new name, is not recorded twice', async () => {
    const served = await garden();
    const sent = seen(served.ids[1]);
    await (await phone(served, 'Wren')).post('/api/observations', sent);
    const again = json<RecordedView>(await (await phone(served, 'Wren 2')).post('/api/observations', sent));
    expect(again.observation.by).toBe('Wren');
    expect((await observationsOn(served, 1)).length).toBe(1);
  });

  const [longNote, zeros] = ['x'.repeat(2001), '0'.repeat(16)];
  const refused: readonly (readonly [what: string, code: string, change: object])[] = [
    ['of an older tag', 'tag-superseded', { issue: 1 }],
    ['of a tag never printed', 'tag-unissued', { issue: 9 }],
    ['of no plant', 'tag-unknown', { id: 'K7FY5' }],
    ['of a damaged ID', 'tag-unreadable', { id: 'K7??5' }],
    ['of tomorrow', 'future-date', { date: '2026-09-15' }],
    ['of no day', 'bad-date', { date: '2026-02-30' }],
    ['from before it was sown', 'before-sowing', { date: '2024-01-31' }],
    ['with nothing seen', 'nothing-seen', { values: {} }],
    ['with too much sugar', 'bad-observation', { values: { brix: '50' } }],
    ['with a trait that is none', 'unknown-trait', { values: { colour: 'red' } }],
    ['with a long note', 'bad-request', { values: { note: longNote } }],
    ['with an entry that is no UUID', 'bad-request', { entry: 'x' }],
    ['with a random UUID', 'bad-request', { entry: '5f0c7d2e-1b1a-4c3d-9e8f-0a1b2c3d4e5f' }],
    ['with more than is known', 'bad-request', { by: 'Tansy' }],
    [
      'with a photo that is not here',
      'no-such-photo',
      { photo: { file: `${zeros}.jpg`, sha256: '0'.repeat(64) } },
    ],
    [
      'with a photo elsewhere',
      'bad-request',
      { photo: { file: '../ledger.sqlite', sha256: '0'.repeat(64) } },
    ],
  ];
  for (const [what, code, change] of refused) {
    it(`${what} is refused (${code}), and nothing is written`, async () => {
      const served = await garden();
      const { post } = await phone(served);
      const answer = await post('/api/observations', { ...seen(served.ids[0]), ...change });
      expect([answer.status, codeOf(answer)]).toEqual([422, code]);
      expect(await observationsOn(served, 0)).toEqual([]);
      expect(served.troubles).toEqual([]);
    });
  }

  it('on a plant that has ended is recorded, with the doubt', async () => {
    const served = await garden();
    const { post } = await phone(served);
    const [id] = served.ids;
    await post('/api/observations', seen(id, { alive: 'no' }));
    expect(json<RecordedView>(await post('/api/observations', seen(id))).doubt).toMatch(/ended 2026-09-14/);
  });

  it('cannot be withdrawn if it is none', async () => {
    const served = await garden();
    const { post } = await phone(served);
    const enrolled = (await served.ledger.change(2))?.id;
    expect(codeOf(await post('/api/withdrawals', { entry: timeOrderedUuid() }))).toBe('no-such-observation');
    expect(codeOf(await post('/api/withdrawals', { entry: enrolled }))).toBe('no-such-observation');
  });

  it('is not lost, and the phone is asked to wait, while the ledger cannot be written', async () => {
    const served = await garden();
    const { post } = await phone(served);
    served.ledger.close();
    const answer = await post('/api/observations', seen(served.ids[0]));
    expect(answer.status).toBeGreaterThanOrEqual(500);
    expect(served.troubles.length).toBe(1);
  });
});

describe('a walk', () => {
  const walk = (lines: readonly string[]) => ({ walk: timeOrderedUuid(), date: TODAY, lines });

  it('is kept once, however often it arrives, as the CSV that pottag walk reads', async () => {
    const served = await garden();
    const { post } = await phone(served);
    const sent = walk([
      'station bench 1 / 1',
      `${served.ids[1]}`,
      'station bench 1 / 2',
      'none',
      'height 64',
    ]);
    for (let time = 0; time < 2; time++) expect((await post('/api/walks', sent)).status).toBe(200);
    expect(new Set(served.walks).size).toBe(1);
    const rows = readWalk(readFileSync(served.walks[0] ?? ''), 'walk.csv');
    expect(rows.map(({ station, scanned, traits }) => [station, scanned, traits.get('height')])).toEqual([
      ['bench 1 / 1', served.ids[1], undefined],
      ['bench 1 / 2', 'none', 64],
    ]);
  });

  it('of nothing, of tomorrow, or under a name that leads elsewhere is refused', async () => {
    const served = await garden();
    const { post } = await phone(served);
    const good = walk(['station a', 'none']);
    for (const [code, wrong] of [
      ['empty-walk', walk(['station a'])],
      ['empty-walk', walk([])],
      ['future-date', { ...good, date: '2026-09-15' }],
      ['bad-date', { ...good, date: '../../x' }],
      ['bad-request', { ...good, walk: '../../../../x' }],
      ['bad-request', { ...good, lines: ['x'.repeat(301)] }],
    ] as const) {
      expect(codeOf(await post('/api/walks', wrong))).toBe(code);
    }
    expect(readdirSync(served.ledger.folder)).not.toContain('walks');
  });
});

describe('two phones at once', () => {
  it('record side by side, each in its own order, and nothing is lost', async () => {
    const served = await garden();
    const perPhone = 50;
    const phones = [
      { name: 'Wren', ...(await phone(served, 'Wren')) },
      { name: 'Tansy', ...(await phone(served, 'Tansy')) },
    ];
    await Promise.all(
      phones.map(async ({ name, post }) => {
        for (let index = 0; index < perPhone; index++) {
          const sent = seen(served.ids[index % 2], { note: `${name} ${index}` });
          expect((await post('/api/observations', sent)).status).toBe(200);
        }
      }),
    );
    const reader = openLedger(served.ledger.folder, NOON);
    const all = [
      await reader.observations(served.ids[0] as never),
      await reader.observations(served.ids[1] as never),
    ];
    reader.close();
    const inOrder = all.flat().sort((a, b) => a.number - b.number);
    for (const { name } of phones) {
      const notes = inOrder.filter(({ by }) => by === name).map(({ values }) => values.note);
      expect(notes).toEqual(Array.from({ length: perPhone }, (_, index) => `${name} ${index}`));
    }
    expect(checkLedger(served.ledger.folder, () => {}).findings).toEqual([]);
  });
});

describe('a photo', () => {
  const jpeg = (color: string) =>
    sharp({ create: { width: 40, height: 30, channels: 3, background: color } })
      .jpeg()
      .toBuffer();

  it('is kept with its observation and served as what it is, and nothing else', async () => {
    const served = await garden();
    const { get, post } = await phone(served);
    const bytes = await jpeg('red');
    const photo = json<Photo>(await post('/api/photos', bytes));
    expect(json<Photo>(await post('/api/photos', bytes))).toEqual(photo);
    await post('/api/observations', { ...seen(served.ids[0]), photo });
    expect(await observationsOn(served, 0)).toMatchObject([{ photo }]);
    const answer = await get(`/api/photos/${photo.file}`);
    expect(answer.bytes.equals(bytes)).toBe(true);
    expect(answer.headers['content-type']).toBe('image/jpeg');
    expect(answer.headers['x-content-type-options']).toBe('nosniff');
    expect(answer.headers['cache-control']).toBe('private, no-store');
    expect(answer.headers['content-security-policy']).toMatch(/sandbox/);
    expect(checkLedger(served.ledger.folder, () => {}).findings).toEqual([]);
  });

  it('that is none, damaged, or too large is refused, and nothing comes to lie in the folder', async () => {
    const served = await garden();
    const { post } = await phone(served);
    const whole = await sharp({ create: { width: 400, height: 300, channels: 3, background: 'blue' } })
      .jpeg()
      .toBuffer();
    const wrong: readonly (readonly [what: string, body: Uint8Array, status: number])[] = [
      ['a page', Buffer.from('<html><script>alert(1)</script>'), 422],
      ['a drawing that can hold scripts', Buffer.from('<svg xmlns="http://www.w3.org/2000/svg"/>'), 422],
      ['only the beginning of a picture', whole.subarray(0, 200), 422],
      [
        'a beginning with a script after it',
        Buffer.concat([whole.subarray(0, 20), Buffer.from('<script>')]),
        422,
      ],
      ['nothing', new Uint8Array(0), 422],
      ['more than a phone makes', new Uint8Array(21 * 1024 * 1024), 413],
    ];
    for (const [what, body, status] of wrong)
      expect((await post('/api/photos', body)).status, what).toBe(status);
    expect(readdirSync(served.ledger.folder)).not.toContain('photos');
  });

  it('is found by its name only, wherever a path tries to lead', async () => {
    const served = await garden();
    const { get, post } = await phone(served);
    await post('/api/photos', await jpeg('green'));
    writeFileSync(join(served.ledger.folder, 'photos', 'notes.txt'), 'private');
    for (const path of [
      '/api/photos/notes.txt',
      '/api/photos/..%2fledger.sqlite',
      '/api/photos/%2e%2e/ledger.sqlite',
      '/api/photos/../../ledger.sqlite',
      '/api/photos/..%5cledger.sqlite',
      '/api/photos/%00.jpg',
      '/ledger.sqlite',
      '/../ledger.sqlite',
      '/..%2f..%2fetc%2fpasswd',
      '/devices/',
    ]) {
      const { status, text } = await get(path);
      expect(status, path).toBeGreaterThanOrEqual(400);
      expect(text).not.toMatch(/private|SQLite|root:/);
    }
  });
});

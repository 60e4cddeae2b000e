import { describe, expect, test } from 'vitest';
import { type DateOrder, parseDate, readDateColumn } from '../../src/plants/dates.js';

const TODAY = '2026-11-25';

function read(cell: string, order?: DateOrder): string {
  const reading = parseDate(cell, { order, today: TODAY });
  if (reading.kind === 'date') return reading.date;
  if (reading.kind === 'problem') return reading.problem;
  return [...reading.readings].map(([as, date]) => `${as} ${date}`).join(', ');
}

describe('dates that can be read one way only', () => {
  test.each([
    // ISO 8601, complete and of reduced precision, and with the midnight that spreadsheets append.
    ['2026-04-03', '2026-04-03'],
    ['2026-4-3', '2026-04-03'],
    ['2026-04', '2026-04'],
    ['2026', '2026'],
    ['2026-04-03 00:00', '2026-04-03'],
    ['2026-04-03T00:00:00', '2026-04-03'],
    ['2026-04-03T00:00:00.000Z', '2026-04-03'],
    ['25/04/2026 0:00', '2026-04-25'],
    ['4/25/2026 12:00:00 AM', '2026-04-25'],
    // Years first, with other signs.
    ['2026/04/03', '2026-04-03'],
    ['2026.04.03.', '2026-04-03'],
    ['2026/4', '2026-04'],
    // Only one order gives a day of the calendar, or all give the same one.
    ['25/04/2026', '2026-04-25'],
    ['04/25/2026', '2026-04-25'],
    ['25.4.2026', '2026-04-25'],
    ['25. 4. 2026', '2026-04-25'],
    ['25-04-2026', '2026-04-25'],
    ['03/03/2026', '2026-03-03'],
    ['03/03/03', '2003-03-03'],
    ['31/12/99', '1999-12-31'],
    ['04/2026', '2026-04'],
    // Names of months.
    ['3 Apr 2026', '2026-04-03'],
    ['3. April 2026', '2026-04-03'],
    ['3rd april 2026', '2026-04-03'],
    ['Apr 3, 2026', '2026-04-03'],
    ['April 3rd, 2026', '2026-04-03'],
    ['3-Apr-26', '2026-04-03'],
    ['03-APR-2026', '2026-04-03'],
    ['2026 Apr 3', '2026-04-03'],
    ['12 Sept 2025', '2025-09-12'],
    ['Apr 2026', '2026-04'],
    ['May-2026', '2026-05'],
    ['29/02/2024', '2024-02-29'],
    [' 2026\u201104\u201303 ', '2026-04-03'],
    ['２０２６', '2026'],
  ])('%j is %s', (cell, date) => {
    expect(read(cell)).toBe(date);
  });
});

describe('ambiguous dates', () => {
  test.each([
    ['03/04/2026', 'dmy 2026-04-03, mdy 2026-03-04'],
    ['3.4.2026', 'dmy 2026-04-03, mdy 2026-03-04'],
    ['03/04/05', 'dmy 2005-04-03, mdy 2005-03-04, ymd 2003-04-05'],
    ['25/04/26', 'dmy 2026-04-25, ymd 2025-04-26'],
    ['3/4/26', 'dmy 2026-04-03, mdy 2026-03-04'],
  ])('%s', (cell, readings) => {
    expect(read(cell)).toBe(readings);
  });

  test('a reading that lies in the future still counts: it may be the one that was meant', () => {
    expect(read('03/12/2026')).toBe('dmy 2026-12-03, mdy 2026-03-12');
  });

  test('of every d/m/y of a year, those are ambiguous whose day and month could be exchanged', () => {
    for (let month = 1; month <= 12; month++) {
      for (let day = 1; day <= new Date(Date.UTC(2025, month, 0)).getUTCDate(); day++) {
        const { kind } = parseDate(`${day}/${month}/2025`, { today: TODAY });
        expect([day, month, kind]).toEqual([day, month, day <= 12 && day !== month ? 'ambiguous' : 'date']);
      }
    }
  });
});

describe('with an order given', () => {
  test('every day of 2000 to 2030 reads back, in every order, sign and length', () => {
    const options = { today: '2030-12-31' };
    let days = 0;
    for (let time = Date.UTC(2000, 0, 1); time <= Date.UTC(2030, 11, 31); time += 86_400_000) {
      const iso = new Date(time).toISOString().slice(0, 10);
      const [year, month, day] = iso.split('-') as [string, string, string];
      const sign = ['/', '.', '-'][days % 3] as string;
      const short = [String(Number(day)), String(Number(month)), year.slice(2)];
      for (const [d, m, y] of [[day, month, year], short] as [string, string, string][]) {
        const written: Record<DateOrder, string[]> = { dmy: [d, m, y], mdy: [m, d, y], ymd: [y, m, d] };
        for (const [order, parts] of Object.entries(written) as [DateOrder, string[]][]) {
          expect(parseDate(parts.join(sign), { ...options, order })).toEqual({ kind: 'date', date: iso });
        }
      }
      expect(parseDate(iso, options)).toEqual({ kind: 'date', date: iso });
      days++;
    }
    expect(days).toBe(11_323);
  });

  test.each([
    ['04/25/2026', 'dmy', /read with --dates dmy\) names a month 25/],
    ['31/02/2026', 'dmy', /31 February 2026/],
    ['25/04/2026', 'mdy', /names a month 25/],
    ['03/04/2026', 'ymd', /cannot be read with --dates ymd/],
  ] as const)('%s with --dates %s is a problem, not read another way', (cell, order, problem) => {
    expect(read(cell, order)).toMatch(problem);
  });

  test.each(['dmy', 'mdy', 'ymd'] as const)('a year of four digits in front needs no order (%s)', (order) => {
    expect(read('2026-04-03', order)).toBe('2026-04-03');
    expect(read('2026/04/03', order)).toBe('2026-04-03');
  });
});

describe('problems', () => {
  test.each([
    ['31/02/2026', /no day of the calendar, whether read dmy or mdy/],
    ['2026-02-30', /30 February 2026/],
    ['29/02/2023', /no day of the calendar/],
    ['2026-13-01', /names a month 13/],
    ['2026-13', /names a month 13/],
    ['00/00/0000', /no day of the calendar/],
    ['2026-11-26', /lies in the future \(today is 2026-11-25\)/],
    ['2026-12', /lies in the future/],
    ['2027', /lies in the future/],
    ['1799-12-31', /lies before 1800/],
    ['0026-04-03', /lies before 1800/],
    ['45017', /day number \(2023-04-01 if it counts from 1900\)/],
    ['45017.5', /day number/],
    ['2026-04-03 14:30', /time of day/],
    ['Apr-26', /year of four digits/],
    ['3-Apr', /year of four digits/],
    ['spring 2026', /not a date that can be read/],
    ['3 Foo 2026', /not a date that can be read/],
    ['3/4-2026', /not a date that can be read/],
    ['1/2/3', /not a date that can be read/],
    ['25/4/9', /not a date that can be read/],
    ['1/2/345', /not a date that can be read/],
    ['?', /not a date that can be read/],
    ['2026-04-03-05', /not a date that can be read/],
  ])('%s', (cell, problem) => {
    const text = read(cell);
    expect(text).toMatch(problem);
    expect(text.startsWith(`"${cell}" `)).toBe(true);
  });

  // Day numbers: common practice, in which 1900-03-01 is day 61 and 2000-01-01 day 36526.
  test('the day number of 2000-01-01', () => {
    expect(read('36526')).toMatch(/2000-01-01/);
  });

  test('today itself, this month and this year are not the future', () => {
    expect([read(TODAY), read('2026-11'), read('2026')]).toEqual([TODAY, '2026-11', '2026']);
  });
});

describe('a column', () => {
  function readColumn(cells: readonly string[], order?: DateOrder) {
    const answers = readDateColumn(
      cells.map((cell, index) => ({ line: index + 2, cell })),
      { order, today: TODAY },
    );
    return answers.map((answer) => ('date' in answer ? answer.date : answer.problem));
  }

  test('an ambiguous date names both readings and the options', () => {
    expect(readColumn(['03/04/2026', '2026'])).toEqual([
      '"03/04/2026" can be 3 April 2026 (--dates dmy) or 4 March 2026 (--dates mdy): say which with --dates.',
      '2026',
    ]);
  });

  test('and a cell that proves an order, but is not read by it', () => {
    expect(readColumn(['03/04/2026', '03/03/2026', '25/04/2026'])).toEqual([
      expect.stringMatching(/"25\/04\/2026" in line 4 can only be dmy/),
      '2026-03-03',
      '2026-04-25',
    ]);
  });

  test('orders that contradict each other are pointed out', () => {
    expect(readColumn(['25/04/2026', '04/25/2026', '03/04/2026'])[2]).toMatch(
      /mixes orders \("25\/04\/2026" in line 2 can only be dmy, "04\/25\/2026" in line 3 can only be mdy\)/,
    );
  });

  test('the order settles all of them', () => {
    expect(readColumn(['03/04/2026', '25/04/2026', '2026-05'], 'dmy')).toEqual([
      '2026-04-03',
      '2026-04-25',
      '2026-05',
    ]);
  });
});

/**
 * A cell → a date in ISO 8601, complete (`2026-04-03`) or of reduced precision (`2026-04`, `2026`), since
 * growers often know only the month. Never a guess: `03/04/2026` is one of two days until someone says
 * which.
 */
import { quote } from '../wording.js';

export const DATE_ORDERS = ['dmy', 'mdy', 'ymd'] as const;
/** The order of day, month and year in dates written with figures only. */
export type DateOrder = (typeof DATE_ORDERS)[number];

export interface DateOptions {
  readonly order?: DateOrder | undefined;
  /** ISO 8601, complete; no later date is taken. */
  readonly today: string;
}

/**
 * `proves`: the only order in which the cell is a day of the calendar. `readings`: the days that an
 * ambiguous cell can be, at least two. `problem`: a sentence with the value and what to do.
 */
export type DateReading =
  | { readonly kind: 'date'; readonly date: string; readonly proves?: DateOrder }
  | { readonly kind: 'ambiguous'; readonly readings: ReadonlyMap<DateOrder, string> }
  | { readonly kind: 'problem'; readonly problem: string };

const EARLIEST_YEAR = 1800;
const WRITE_IT = 'write it as 2026-04-03, 2026-04 or 2026, or leave the cell empty';

const MONTHS = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
];

/** Day 0 of the count in which 1900-03-01 is 61 (common practice), as the time of `Date`. */
const SPREADSHEET_DAY_0 = Date.UTC(1899, 11, 30);
const MS_PER_DAY = 86_400_000;

/** What a spreadsheet appends to a date: midnight, on a 24-hour or a 12-hour clock. */
const MIDNIGHT = /[T ]\s*(?:0?0:00(?::00(?:\.0+)?)?Z?|12:00(?::00)? ?AM)$/i;

/** Hyphens and dashes of word processors, and the minus sign. */
const DASHES = /[\u2010-\u2015\u2212]/g;

const FIGURES = /^(\d{1,4})([-/.])\s?(\d{1,2})\2\s?(\d{1,4})\.?$/;
const YEAR_MONTH = /^(\d{4})[-/.](\d{1,2})$/;
const MONTH_YEAR = /^(\d{1,2})[-/.](\d{4})$/;
const DAY_NAME_YEAR = /^(\d{1,2})(?:st|nd|rd|th)?[\s./-]+([a-z]+)[\s.,/-]+(\d{4}|\d\d)$/i;
const NAME_DAY_YEAR = /^([a-z]+)[\s./-]+(\d{1,2})(?:st|nd|rd|th)?[\s,/-]+(\d{4}|\d\d)$/i;
const YEAR_NAME_DAY = /^(\d{4})[\s./-]+([a-z]+)[\s./-]+(\d{1,2})$/i;
const NAME_YEAR = /^([a-z]+)[\s.,/-]+(\d{4})$/i;

/** Reads one cell, which must not be blank. */
export function parseDate(cell: string, options: DateOptions): DateReading {
  const text = cell.normalize('NFKC').replace(DASHES, '-').trim().replace(MIDNIGHT, '').trim();
  const draft =
    readMonth(text) ?? readNamedMonth(text, options) ?? readFigures(text, options) ?? unreadable(text);
  if (draft.kind === 'ambiguous') return draft;
  if (draft.kind === 'fault') return problem(cell, draft.fault);
  const fault = rangeFault(draft.date, options.today);
  return fault === undefined ? draft : problem(cell, fault);
}

export interface DateCell {
  readonly line: number;
  readonly cell: string;
}

/**
 * Reads a whole column, blank cells left out, so that an ambiguous cell's problem can name a cell that
 * proves an order. The answers stand in the order of the cells.
 */
export function readDateColumn(
  cells: readonly DateCell[],
  options: DateOptions,
): readonly ({ readonly date: string } | { readonly problem: string })[] {
  const known = new Map<string, DateReading>();
  const proofs = new Map<DateOrder, DateCell>();
  const readings = cells.map((dateCell) => {
    const reading = known.get(dateCell.cell) ?? parseDate(dateCell.cell, options);
    known.set(dateCell.cell, reading);
    if (reading.kind === 'date' && reading.proves && !proofs.has(reading.proves)) {
      proofs.set(reading.proves, dateCell);
    }
    return reading;
  });
  const hint = proofHint(proofs);
  return readings.map((reading, index) => {
    if (reading.kind !== 'ambiguous') return reading;
    return { problem: `${ambiguity((cells[index] as DateCell).cell, reading.readings)}${hint}.` };
  });
}

function problem(cell: string, fault: string): DateReading {
  return { kind: 'problem', problem: `${quote(cell.trim())} ${fault}.` };
}

function ambiguity(cell: string, readings: ReadonlyMap<DateOrder, string>): string {
  const each = [...readings].map(([order, date]) => `${inWords(date)} (--dates ${order})`);
  return `${quote(cell.trim())} can be ${each.join(' or ')}: say which with --dates`;
}

function proofHint(proofs: ReadonlyMap<DateOrder, DateCell>): string {
  const found = [...proofs].map(
    ([order, { line, cell }]) => `${quote(cell.trim())} in line ${line} can only be ${order}`,
  );
  if (found.length === 0) return '';
  if (found.length === 1) return `; ${found[0]}, and perhaps so is the whole column`;
  return `; but the column mixes orders (${found.join(', ')}), so ${WRITE_IT}`;
}

/** A reading whose range is not checked yet; a fault goes on after the value in a sentence. */
type Draft =
  | Exclude<DateReading, { readonly kind: 'problem' }>
  | { readonly kind: 'fault'; readonly fault: string };

function readMonth(text: string): Draft | undefined {
  if (/^\d{4}$/.test(text)) return { kind: 'date', date: text };
  const yearFirst = YEAR_MONTH.exec(text);
  const monthFirst = MONTH_YEAR.exec(text);
  const named = NAME_YEAR.exec(text);
  const year = yearFirst?.[1] ?? monthFirst?.[2] ?? named?.[2];
  const month = named ? monthNumber(named[1]) : Number(yearFirst?.[2] ?? monthFirst?.[1]);
  if (year === undefined || month === undefined) return undefined;
  if (month < 1 || month > 12) return { kind: 'fault', fault: `names a month ${month}; ${WRITE_IT}` };
  return { kind: 'date', date: `${year}-${twoDigits(month)}` };
}

function readNamedMonth(text: string, options: DateOptions): Draft | undefined {
  const dayFirst = DAY_NAME_YEAR.exec(text);
  const nameFirst = NAME_DAY_YEAR.exec(text);
  const yearFirst = YEAR_NAME_DAY.exec(text);
  const year = dayFirst?.[3] ?? nameFirst?.[3] ?? yearFirst?.[1];
  const month = monthNumber(dayFirst?.[2] ?? nameFirst?.[1] ?? yearFirst?.[2]);
  const day = dayFirst?.[1] ?? nameFirst?.[2] ?? yearFirst?.[3];
  if (year === undefined || month === undefined || day === undefined) return undefined;
  return calendarDay(fullYear(year, options.today), month, Number(day));
}

function readFigures(text: string, options: DateOptions): Draft | undefined {
  const [, first, , second, third] = FIGURES.exec(text) ?? [];
  if (first === undefined || second === undefined || third === undefined) return undefined;
  const readAs = (order: DateOrder) => {
    const [year, month, day] =
      order === 'ymd'
        ? [first, second, third]
        : order === 'dmy'
          ? [third, second, first]
          : [third, first, second];
    return calendarDay(fullYear(year, options.today), Number(month), Number(day));
  };
  // A four-digit year in front is unmistakable, as in ISO 8601: --dates is not asked.
  if (first.length === 4 && third.length <= 2) return readAs('ymd');
  if (first.length > 2) return undefined;
  // `25/4/9` could be a day of 2009 or of 2025: one figure at the end is a day only if --dates says so.
  const endsWithDay = third.length === 2 || (third.length === 1 && options.order === 'ymd');
  const endsWithYear = third.length === 2 || third.length === 4;
  const orders = DATE_ORDERS.filter((order) =>
    order === 'ymd' ? endsWithDay && first.length === 2 : endsWithYear,
  );
  if (orders.length === 0) return undefined;
  return options.order ? readInOrder(options.order, orders, readAs) : readInAnyOrder(orders, readAs);
}

function readInOrder(
  order: DateOrder,
  orders: readonly DateOrder[],
  readAs: (order: DateOrder) => Draft,
): Draft {
  if (!orders.includes(order)) {
    return { kind: 'fault', fault: `cannot be read with --dates ${order}; ${WRITE_IT}` };
  }
  const draft = readAs(order);
  return draft.kind === 'fault'
    ? { kind: 'fault', fault: `(read with --dates ${order}) ${draft.fault}` }
    : draft;
}

function readInAnyOrder(orders: readonly DateOrder[], readAs: (order: DateOrder) => Draft): Draft {
  const readings = new Map<DateOrder, string>();
  for (const order of orders) {
    const draft = readAs(order);
    if (draft.kind === 'date') readings.set(order, draft.date);
  }
  const [[order, date] = [], ...others] = readings;
  if (order === undefined || date === undefined) {
    return {
      kind: 'fault',
      fault: `is no day of the calendar, whether read ${orders.join(' or ')}; ${WRITE_IT}`,
    };
  }
  if (others.length === 0) return { kind: 'date', date, proves: order };
  if (others.every(([, other]) => other === date)) return { kind: 'date', date };
  return { kind: 'ambiguous', readings };
}

function unreadable(text: string): Draft {
  if (/^\d{5}(?:[.,]\d+)?$/.test(text)) {
    const day = new Date(SPREADSHEET_DAY_0 + Number.parseInt(text, 10) * MS_PER_DAY)
      .toISOString()
      .slice(0, 10);
    const fault = `is a spreadsheet's day number (${day} if it counts from 1900): give the column a date format and save again, or ${WRITE_IT}`;
    return { kind: 'fault', fault };
  }
  if (/\d:\d\d/.test(text))
    return { kind: 'fault', fault: 'has a time of day: leave the date alone in the cell' };
  if (/^(?:[a-z]+[\s./-]+\d{1,2}|\d{1,2}[\s./-]+[a-z]+)$/i.test(text)) {
    return { kind: 'fault', fault: `lacks a year of four digits: ${WRITE_IT}` };
  }
  return { kind: 'fault', fault: `is not a date that can be read: ${WRITE_IT}` };
}

function calendarDay(year: number, month: number, day: number): Draft {
  if (month < 1 || month > 12) return { kind: 'fault', fault: `names a month ${month}; ${WRITE_IT}` };
  const name = MONTHS[month - 1];
  if (day < 1 || day > daysInMonth(year, month)) {
    return { kind: 'fault', fault: `names a day that is not there, ${day} ${name} ${year}; ${WRITE_IT}` };
  }
  return { kind: 'date', date: `${String(year).padStart(4, '0')}-${twoDigits(month)}-${twoDigits(day)}` };
}

function rangeFault(date: string, today: string): string | undefined {
  if (date > today.slice(0, date.length)) return `lies in the future (today is ${today}); correct it`;
  if (Number(date.slice(0, 4)) < EARLIEST_YEAR) return `lies before ${EARLIEST_YEAR}; correct it`;
  return undefined;
}

/** Of two digits, the latest such year that is not in the future (common practice). */
function fullYear(year: string, today: string): number {
  if (year.length !== 2) return Number(year);
  const thisYear = Number(today.slice(0, 4));
  const inThisCentury = thisYear - (thisYear % 100) + Number(year);
  return inThisCentury > thisYear ? inThisCentury - 100 : inThisCentury;
}

/** From the name or its first three letters on, also `Sept`. */
function monthNumber(name: string | undefined): number | undefined {
  const start = name?.toLowerCase().replace(/^sept$/, 'sep');
  if (start === undefined || start.length < 3) return undefined;
  const index = MONTHS.findIndex((month) => month.toLowerCase().startsWith(start));
  return index === -1 ? undefined : index + 1;
}

function daysInMonth(year: number, month: number): number {
  return new Date(Date.UTC(year, month, 0)).getUTCDate();
}

function inWords(date: string): string {
  const [year, month, day] = date.split('-').map(Number);
  return `${day} ${MONTHS[(month as number) - 1]} ${year}`;
}

function twoDigits(number: number): string {
  return String(number).padStart(2, '0');
}

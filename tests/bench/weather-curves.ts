/** The damage bench as a picture: a plot a kind of damage, a curve a reader. */
import sharp from 'sharp';
import type { LevelResult, Reader } from './weather.js';

/** In the order in which they are drawn: the worst last, lest a better one hide it. */
const CURVES: readonly { readonly reader: Reader; readonly name: string; readonly colour: string }[] = [
  { reader: 'offered', name: 'read or offered by ledger', colour: '#7fbf7b' },
  { reader: 'read', name: 'read by ledger', colour: '#1b7837' },
  { reader: 'both', name: 'both, all preparations', colour: '#3b6fb6' },
  { reader: 'zxing', name: 'ZXing alone', colour: '#999999' },
  { reader: 'zbar', name: 'ZBar alone', colour: '#c9a227' },
];

const [PLOT_WIDTH, PLOT_HEIGHT, GAP, COLUMNS] = [230, 150, 62, 4];
const HEAD = 50;
/** Labels nearer to each other would overlap. */
const LEAST_APART_PX = 28;

/** A PNG file. */
export async function curves(results: readonly LevelResult[]): Promise<Buffer> {
  const kinds = [...new Set(results.map(({ kind }) => kind))];
  const rows = Math.ceil(kinds.length / COLUMNS);
  const width = COLUMNS * (PLOT_WIDTH + GAP) + GAP;
  const height = HEAD + rows * (PLOT_HEIGHT + GAP) + 20;
  const parts = kinds.map((kind, index) => {
    const left = GAP + (index % COLUMNS) * (PLOT_WIDTH + GAP);
    const top = HEAD + 20 + Math.floor(index / COLUMNS) * (PLOT_HEIGHT + GAP);
    return plot(
      results.filter((result) => result.kind === kind),
      left,
      top,
    );
  });
  const legend = CURVES.map(
    ({ name, colour }, index) =>
      `<g transform="translate(${GAP + index * 225},24)"><line x2="26" stroke="${colour}" stroke-width="3"/>` +
      `<text x="32" y="4">${name}</text></g>`,
  ).join('');
  const svg =
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" font-family="sans-serif" font-size="12">` +
    `<rect width="100%" height="100%" fill="white"/>${legend}${parts.join('')}</svg>`;
  return sharp(Buffer.from(svg)).png({ palette: true }).toBuffer();
}

function plot(results: readonly LevelResult[], left: number, top: number): string {
  const [first] = results;
  if (first === undefined) return '';
  const levels = results.map(({ level }) => level);
  const [low, high] = [Math.min(...levels), Math.max(...levels)];
  const x = (level: number): number => ((level - low) / (high - low || 1)) * PLOT_WIDTH;
  const y = (share: number): number => PLOT_HEIGHT * (1 - share);
  const grid = [0, 0.5, 1]
    .map(
      (share) =>
        `<line x2="${PLOT_WIDTH}" y1="${y(share)}" y2="${y(share)}" stroke="#ddd"/>` +
        `<text x="-6" y="${y(share) + 4}" text-anchor="end" fill="#555">${100 * share} %</text>`,
    )
    .join('');
  const ticks = labelled(levels, x)
    .map(
      (level) =>
        `<text x="${x(level)}" y="${PLOT_HEIGHT + 15}" text-anchor="middle" fill="#555">${level}</text>`,
    )
    .join('');
  const lines = CURVES.map(({ reader, colour }) => {
    const points = results.map(
      ({ level, resolved, photoCount }) =>
        `${x(level).toFixed(1)},${y(resolved[reader] / photoCount).toFixed(1)}`,
    );
    return `<polyline points="${points.join(' ')}" fill="none" stroke="${colour}" stroke-width="${reader === 'offered' ? 5 : 2}"/>`;
  }).join('');
  const title = `<text y="-8" font-weight="bold">${first.kind.name}</text>`;
  const unit = `<text x="${PLOT_WIDTH / 2}" y="${PLOT_HEIGHT + 31}" text-anchor="middle" fill="#555" font-size="11">${first.kind.unit}</text>`;
  return `<g transform="translate(${left},${top})">${grid}${ticks}${title}${unit}${lines}</g>`;
}

/** The levels that have room for their label; the last always does. */
function labelled(levels: readonly number[], x: (level: number) => number): number[] {
  const kept: number[] = [];
  for (const level of [...levels].sort((a, b) => b - a)) {
    const before = kept.at(-1);
    if (before === undefined || x(before) - x(level) >= LEAST_APART_PX) kept.push(level);
  }
  return kept;
}

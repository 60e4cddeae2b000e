/**
 * The peer of the tags bench: labels the way one writes them first. Each symbol a PNG from bwip-js,
 * embedded by pdf-lib, its text drawn by pdf-lib. Usage: node plain-way.mjs COUNT OUT.pdf
 */
import { writeFileSync } from 'node:fs';
import bwipjs from 'bwip-js';
import { PDFDocument, StandardFonts } from 'pdf-lib';

const [count, out] = [Number(process.argv[2]), process.argv[3]];
const MM = 72 / 25.4;
const document = await PDFDocument.create();
const font = await document.embedFont(StandardFonts.HelveticaBold);
let page;
for (let index = 0; index < count; index++) {
  const cell = index % 65;
  if (cell === 0) page = document.addPage([210 * MM, 297 * MM]);
  const x = (4.75 + (cell % 5) * 40.6) * MM;
  const y = (297 - 10.7 - (Math.floor(cell / 5) + 1) * 21.2) * MM;
  const text = `P${String(index).padStart(4, '0')}.1`;
  const png = await bwipjs.toBuffer({ bcid: 'qrcode', text, eclevel: 'H', scale: 3 });
  page.drawImage(await document.embedPng(png), { x: x + 8, y: y + 8, width: 15 * MM, height: 15 * MM });
  page.drawText(text, { x: x + 19 * MM, y: y + 12 * MM, size: 12, font });
  page.drawText('Tollhouse Amber × Moth Captain', { x: x + 19 * MM, y: y + 8 * MM, size: 5, font });
}
writeFileSync(out, await document.save());

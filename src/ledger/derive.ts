/**
 * What each kind of entry changes in the derived tables. Used when an entry is appended and, in the
 * same way, when the tables are made anew to be compared: there is no second account of it.
 */
import type { PlantId } from '../ids/plant-id.js';
import type { Database } from './database.js';
import type { EntryBody, NewEntry } from './entries.js';
import type { PlantFields } from './model.js';

/** Columns of `plant` that an amendment can change. */
const PLANT_COLUMNS: Readonly<Record<keyof PlantFields, string>> = {
  key: 'key',
  kind: 'kind',
  seedParent: 'seed_parent',
  pollenParent: 'pollen_parent',
  sown: 'sown',
  origin: 'origin',
  station: 'station',
  type: 'type',
  note: 'note',
  extra: 'extra',
};

export function derive(database: Database, entry: NewEntry & { readonly seq: number }): void {
  switch (entry.kind) {
    case 'plant-enrolled':
      enrolled(database, entry.body);
      return;
    case 'plant-amended':
      amended(database, entry.body);
      return;
    case 'tag-issued':
      tagIssued(database, entry.body, entry.seq);
      return;
    case 'tag-voided':
      tagVoided(database, entry.body);
      return;
    case 'observed':
      observed(database, entry.body, entry.seq);
      return;
    case 'ledger-made':
    case 'sheet-printed':
    case 'tag-reprinted':
      return;
  }
}

function enrolled(database: Database, plant: EntryBody<'plant-enrolled'>): void {
  database.run(
    `INSERT INTO plant (number, id, key, kind, seed_parent, pollen_parent, sown, origin, station, type, note, extra)
     VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    plant.number,
    plant.id,
    plant.key,
    plant.kind,
    plant.seedParent,
    plant.pollenParent,
    plant.sown,
    plant.origin,
    plant.station,
    plant.type,
    plant.note,
    JSON.stringify(plant.extra),
  );
}

function amended(database: Database, { id, changes }: EntryBody<'plant-amended'>): void {
  for (const [field, value] of Object.entries(changes)) {
    const column = PLANT_COLUMNS[field as keyof PlantFields];
    const stored = typeof value === 'object' && value !== null ? JSON.stringify(value) : (value ?? null);
    database.run(`UPDATE plant SET ${column} = ? WHERE id = ?`, stored, id);
  }
}

function tagIssued(database: Database, tag: EntryBody<'tag-issued'>, seq: number): void {
  const plant = plantNumber(database, tag.id);
  database.run("UPDATE tag SET status = 'superseded' WHERE plant = ? AND status = 'current'", plant);
  database.run(
    `INSERT INTO tag (plant, issue, status, seq, stock, sheet, page, sheet_row, sheet_column)
     VALUES (?, ?, 'current', ?, ?, ?, ?, ?, ?)`,
    plant,
    tag.issue,
    seq,
    tag.stock,
    tag.sheet,
    tag.page,
    tag.row,
    tag.column,
  );
}

function tagVoided(database: Database, { id, issue }: EntryBody<'tag-voided'>): void {
  database.run(
    "UPDATE tag SET status = 'void' WHERE plant = ? AND issue = ?",
    plantNumber(database, id),
    issue,
  );
}

function observed(database: Database, { id, date, values }: EntryBody<'observed'>, seq: number): void {
  const plant = plantNumber(database, id);
  database.run('INSERT INTO observation (seq, plant, date) VALUES (?, ?, ?)', seq, plant, date);
  if (values.alive === 'no') database.run('UPDATE plant SET ended = ? WHERE number = ?', date, plant);
}

function plantNumber(database: Database, id: PlantId): number {
  const row = database.get<{ number: number }>('SELECT number FROM plant WHERE id = ?', id);
  if (row === undefined) throw new Error(`an entry names plant ${id}, which is not in the ledger`);
  return row.number;
}

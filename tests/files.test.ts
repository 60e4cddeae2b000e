import { spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, utimesSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { join } from 'node:path';
import { describe, expect, it, onTestFinished } from 'vitest';
import { InputError } from '../src/errors.js';
import { writeBeside, writeWhole } from '../src/files.js';
import { freshFolder } from './support/ledger.js';

function inputErrorOf(work: () => unknown): InputError {
  try {
    work();
  } catch (error) {
    if (error instanceof InputError) return error;
    throw error;
  }
  throw new Error('it did not throw');
}

const read = (file: string) => readFileSync(file, 'utf8');

describe('writeBeside', () => {
  it('until it is put in place, the target is as it was', () => {
    const folder = freshFolder();
    const target = join(folder, 'plants.csv');
    writeFileSync(target, 'old');
    const file = writeBeside(target, 'new');
    expect(read(target)).toBe('old');
    file.putInPlace();
    expect(read(target)).toBe('new');
    file.discard();
    expect(read(target)).toBe('new');
    expect(readdirSync(folder)).toEqual(['plants.csv']);
  });

  it('when taken back, what was there before is there again', () => {
    const folder = freshFolder();
    const target = join(folder, 'plants.csv');
    writeFileSync(target, 'old');
    const file = writeBeside(target, 'new');
    file.putInPlace();
    file.takeBack();
    file.discard();
    expect(read(target)).toBe('old');
    expect(readdirSync(folder)).toEqual(['plants.csv']);
  });

  it('when taken back and there was nothing before, there is nothing again', () => {
    const folder = freshFolder();
    const file = writeBeside(join(folder, 'plants.csv'), 'new');
    file.putInPlace();
    file.takeBack();
    file.discard();
    expect(readdirSync(folder)).toEqual([]);
  });

  it('when discarded before it is put in place, nothing is left and the target is as it was', () => {
    const folder = freshFolder();
    const target = join(folder, 'plants.csv');
    writeFileSync(target, 'old');
    const file = writeBeside(target, 'new');
    file.takeBack();
    file.discard();
    expect(read(target)).toBe('old');
    expect(readdirSync(folder)).toEqual(['plants.csv']);
  });

  it('two at once for one target do not disturb each other', () => {
    const folder = freshFolder();
    const target = join(folder, 'plants.csv');
    const [first, second] = [writeBeside(target, 'first'), writeBeside(target, 'second')];
    first.putInPlace();
    second.putInPlace();
    second.takeBack();
    for (const file of [first, second]) file.discard();
    expect(read(target)).toBe('first');
    expect(readdirSync(folder)).toEqual(['plants.csv']);
  });
});

describe('what an ended command left beside', () => {
  it('is cleared away when something is written there, if it is old and its process has ended', () => {
    const folder = freshFolder();
    const ended = spawnSync(process.execPath, ['--version']).pid;
    const longAgo = new Date(Date.now() - 3_600_000);
    const names = [
      `.pottag-${ended}-1.part`,
      `.pottag-${ended}-2.part`,
      `.pottag-${process.pid}-3.part`,
      '.mine',
    ];
    for (const name of names) writeFileSync(join(folder, name), 'x');
    mkdirSync(join(folder, `.pottag-${ended}-stage`));
    for (const name of [names[0], names[2], names[3], `.pottag-${ended}-stage`])
      utimesSync(join(folder, name ?? ''), longAgo, longAgo);
    writeWhole(join(folder, 'a.csv'), 'x');
    expect(readdirSync(folder).sort()).toEqual([names[3], ...names.slice(1, 3), 'a.csv'].sort());
  });
});

describe('writeWhole', () => {
  it('writes bytes and text, replacing what was there, and leaves nothing beside', () => {
    const folder = freshFolder();
    const target = join(folder, 'a.bin');
    const bytes = Uint8Array.from({ length: 300_000 }, (_, index) => index % 251);
    writeWhole(target, 'é');
    expect(read(target)).toBe('é');
    writeWhole(target, bytes);
    expect(readFileSync(target).equals(bytes)).toBe(true);
    writeWhole(target, '');
    expect(read(target)).toBe('');
    expect(readdirSync(folder)).toEqual(['a.bin']);
  });

  it('when the folder is not there, names the folder and writes nothing', () => {
    const folder = freshFolder();
    const error = inputErrorOf(() => writeWhole(join(folder, 'nowhere', 'a.csv'), 'x'));
    expect(error.code).toBe('no-such-folder');
    expect(error.message).toContain(join(folder, 'nowhere'));
    expect(readdirSync(folder)).toEqual([]);
  });

  // Clearing away the file beside fails too, and that error, not explained, is the one thrown.
  it('when the folder is a file, says so', () => {
    const folder = freshFolder();
    writeFileSync(join(folder, 'file'), 'keep me');
    const error = inputErrorOf(() => writeWhole(join(folder, 'file', 'a.csv'), 'x'));
    expect(error.code).toBe('no-such-folder');
    expect(read(join(folder, 'file'))).toBe('keep me');
  });

  it('when the target is a folder, refuses it and leaves nothing beside', () => {
    const folder = freshFolder();
    mkdirSync(join(folder, 'a.csv'));
    const error = inputErrorOf(() => writeWhole(join(folder, 'a.csv'), 'x'));
    expect(error.code).toBe('cannot-write-file');
    expect(readdirSync(folder)).toEqual(['a.csv']);
  });

  // The name of the file beside is longer than the target's, and too long a name is not explained.
  it('a name as long as the file system takes (255 bytes on most) is written', () => {
    const folder = freshFolder();
    const name = `${'a'.repeat(251)}.csv`;
    writeWhole(join(folder, name), 'x');
    expect(readdirSync(folder)).toEqual([name]);
  });

  it('a longer name is refused as wrong input', () => {
    const folder = freshFolder();
    expect(inputErrorOf(() => writeWhole(join(folder, 'a'.repeat(300)), 'x')).code).toMatch(/./);
    expect(readdirSync(folder)).toEqual([]);
  });

  // At a named pipe it waits for ever with the ledger locked; a device it would replace by a plain file.
  it('when the target is no plain file, refuses it and leaves it', async () => {
    const folder = freshFolder();
    const socket = join(folder, 'socket');
    const server = createServer();
    await new Promise<void>((listening) => server.listen(socket, listening));
    onTestFinished(() => void server.close());
    expect(inputErrorOf(() => writeWhole(socket, 'x')).code).toBe('cannot-write-file');
    expect(readdirSync(folder)).toEqual(['socket']);
  });
});

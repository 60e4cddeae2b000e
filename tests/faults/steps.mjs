/**
 * Loaded into a command before anything else (`node --import`): counts each step by which it changes files or
 * a database, and ends the process just before the step that STEPS_KILL_BEFORE names, as kill -9 does. The
 * count goes to the file STEPS_COUNT_TO when the process ends by itself.
 */
import fs from 'node:fs';
import { createRequire, syncBuiltinESMExports } from 'node:module';

const killBefore = Number(process.env.STEPS_KILL_BEFORE ?? 0);
const countTo = process.env.STEPS_COUNT_TO;
const { writeFileSync } = fs;
let steps = 0;

function step() {
  steps++;
  if (steps === killBefore) process.kill(process.pid, 'SIGKILL');
}

const CHANGING =
  'writeSync writeFileSync fsyncSync renameSync copyFileSync rmSync mkdirSync mkdtempSync rmdirSync unlinkSync write writev fsync rename rm';
for (const name of CHANGING.split(' ')) {
  const original = fs[name];
  fs[name] = (...given) => {
    step();
    return original.apply(fs, given);
  };
}
for (const name of ['openSync', 'open']) {
  const original = fs[name];
  fs[name] = (file, flags, ...more) => {
    if (flags !== undefined && flags !== 'r') step();
    return original.call(fs, file, flags, ...more);
  };
}
syncBuiltinESMExports();

const Database = createRequire(new URL('../../package.json', import.meta.url))('libsql');
const { exec, prepare } = Database.prototype;
Database.prototype.exec = function (sql) {
  step();
  return exec.call(this, sql);
};
Database.prototype.prepare = function (...given) {
  const statement = prepare.apply(this, given);
  const { run } = statement;
  statement.run = (...values) => {
    step();
    return run.apply(statement, values);
  };
  return statement;
};

if (countTo !== undefined) process.on('exit', () => writeFileSync(countTo, String(steps)));

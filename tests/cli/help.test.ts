import { describe, expect, it } from 'vitest';
import { makeBench } from '../support/pottag.js';

const COMMANDS = [
  'enrol',
  'stocks',
  'tags',
  'signs',
  'proof',
  'retag',
  'scan',
  'show',
  'serve',
  'walk',
  'exchange',
  'undo',
  'doubts',
  'crosses',
  'keepers',
  'picks',
  'report',
  'check',
  'export',
  'import',
  'backup',
  'restore',
  'copy',
  'merge',
  'share',
] as const;

describe('help', () => {
  it('lists every command and the exit codes, on stdout', () => {
    const { stdout, stderr } = makeBench().expect(0, ['--help']);
    for (const command of COMMANDS) expect(stdout).toMatch(new RegExp(`^ +${command}\\b`, 'm'));
    for (const code of [0, 1, 2, 3, 70]) expect(stdout).toMatch(new RegExp(`^ +${code} `, 'm'));
    expect(stderr).toBe('');
  });

  for (const command of COMMANDS) {
    const test = it;
    test(`of ${command} has an example of it, and no value in a programmer's form`, () => {
      const { stdout } = makeBench().expect(0, [command, '--help']);
      expect(stdout).toMatch(new RegExp(`^  pottag ${command}\\b`, 'm'));
    });
  }

  // The width of a terminal as most open it. What cannot be parted, such as the path of a folder, may be longer.
  it('has no line of more than 80 columns', () => {
    const bench = makeBench();
    for (const command of [[], ...COMMANDS.map((name) => [name])]) {
      const lines = bench.expect(0, [...command, '--help']).stdout.split('\n');
      expect(lines.filter((line) => [...line].length > 80 && line.trim().includes(' '))).toEqual([]);
    }
  });

  // A Map's and an array's default are shown as JSON.
  it('shows no default as {} or []', () => {
    const bench = makeBench();
    for (const command of ['enrol', 'tags']) {
      expect(bench.expect(0, [command, '--help']).stdout).not.toMatch(/default:\s*[{[]/);
    }
  });

  it('of scan and tags has the cautions', () => {
    const bench = makeBench();
    // Design, section 12: latex, spraying and poison, the rules on moving plants.
    expect(bench.expect(0, ['scan', '--help']).stdout).toMatch(
      /waiting\s+period[\s\S]*poisonous[\s\S]*latex/,
    );
    expect(bench.expect(0, ['tags', '--help']).stdout).toMatch(/latex[\s\S]*plant-health/);
  });

  it('of scan names every trait with its allowed values', () => {
    const { stdout } = makeBench().expect(0, ['scan', '--help']);
    const words = stdout.replace(/\s+/g, ' ');
    for (const range of ['0 to 40 °Bx', '1 to 9', 'set, swelling, ripe, dropped, picked-unripe']) {
      expect(words).toContain(range);
    }
  });
});

it('the version is printed on stdout', () => {
  expect(makeBench().expect(0, ['--version']).stdout).toMatch(/^\d+\.\d+\.\d+\n$/);
});

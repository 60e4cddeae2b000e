import { defineConfig } from 'vitest/config';

const common = { testTimeout: 60_000, hookTimeout: 60_000 };

/** Tests of what holds for every ledger, wherever it is: they run once more against one on a server. */
const FOR_EVERY_LEDGER = [
  'tests/ledger/{as-of,clock,corrections,entry-ids,histories,latest-values,sqlite-ledger}.test.ts',
  'tests/plants/**/*.test.ts',
  'tests/observe/**/*.test.ts',
  'tests/scan/{resolve,scans,session}.test.ts',
  'tests/walk/**/*.test.ts',
  'tests/archive/**/*.test.ts',
  'tests/cli/{contract,enrol,scan,session,tags,exchange,undo,putting-right,walk,doubts,field-copy}.test.ts',
];

export default defineConfig({
  test: {
    projects: [
      { test: { ...common, name: 'folder', include: ['tests/**/*.test.ts'] } },
      {
        test: {
          ...common,
          name: 'server',
          include: FOR_EVERY_LEDGER,
          globalSetup: 'tests/support/shared-setup.ts',
        },
      },
    ],
  },
});

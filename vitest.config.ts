import { defineConfig } from 'vitest/config';

const common = { testTimeout: 60_000, hookTimeout: 60_000 };

/** Tests of what holds for every ledger, wherever it is: they run once more against one on a server. */
const FOR_EVERY_LEDGER = [
  'tests/ledger/{as-of,clock,corrections,entry-ids,histories,latest-values,sqlite-ledger}.test.ts',
  'tests/plants/{enrol,origins,select}.test.ts',
  'tests/observe/{corrections,observation,undo}.test.ts',
  'tests/scan/{resolve,scans,session}.test.ts',
  'tests/walk/{hung-wrong,doubts/doubts}.test.ts',
  'tests/breeding/{crosses,fig-types,keepers,picks}.test.ts',
  'tests/archive/merge-order.test.ts',
];
/** Tests of what a ledger on a server has of its own. */
const ON_A_SERVER = 'tests/shared/**/*.test.ts';

export default defineConfig({
  test: {
    projects: [
      { test: { ...common, name: 'folder', include: ['tests/**/*.test.ts'], exclude: [ON_A_SERVER] } },
      {
        test: {
          ...common,
          name: 'server',
          include: [...FOR_EVERY_LEDGER, ON_A_SERVER],
          globalSetup: 'tests/support/shared-setup.ts',
        },
      },
    ],
  },
});

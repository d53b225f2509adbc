/** Tests lie beside the code (libs, apps, shared) and, where they cross rooms, under tests/. */
const common = {
  rootDir: import.meta.dirname ?? process.cwd(),
  testEnvironment: 'node',
  setupFiles: ['<rootDir>/tests/support/property-seed.mjs'],
  testEnvironmentOptions: { customExportConditions: ['source', 'node', 'node-addons'] },
  extensionsToTreatAsEsm: ['.ts', '.tsx'],
  moduleNameMapper: { '^(\\.{1,2}/.*)\\.js$': '$1' },
  modulePathIgnorePatterns: ['/dist/', '/.data/'],
  transform: {
    '^.+\\.tsx?$': [
      '@swc/jest',
      {
        sourceMaps: 'inline',
        module: { type: 'es6' },
        jsc: {
          target: 'es2022',
          keepClassNames: true,
          parser: { syntax: 'typescript', decorators: true, tsx: false },
          transform: { legacyDecorator: true, decoratorMetadata: true },
        },
      },
    ],
  },
}

/** `unit` needs nothing but Node; `database` starts an embedded PostgreSQL once; `system` runs the built processes. */
export default {
  projects: [
    {
      ...common,
      displayName: 'unit',
      testMatch: ['<rootDir>/{libs,apps,shared}/**/src/**/*.test.ts', '<rootDir>/tests/unit/**/*.test.ts'],
      testPathIgnorePatterns: ['\\.db\\.test\\.ts$', '/node_modules/'],
    },
    {
      ...common,
      displayName: 'database',
      testMatch: [
        '<rootDir>/{libs,apps}/**/src/**/*.db.test.ts',
        '<rootDir>/tests/database/**/*.test.ts',
        '<rootDir>/tests/simulation/**/*.test.ts',
        '<rootDir>/tests/attack/**/*.attack.test.ts',
      ],
      globalSetup: '<rootDir>/tests/support/database-setup.mjs',
      globalTeardown: '<rootDir>/tests/support/database-teardown.mjs',
    },
    {
      ...common,
      displayName: 'system',
      testMatch: ['<rootDir>/tests/system/**/*.test.ts'],
    },
  ],
}

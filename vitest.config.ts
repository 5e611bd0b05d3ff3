import { defineConfig } from 'vitest/config';

// Skipped suites name the reason, but the usual report does not show their names.
if (!process.env.TEST_POSTGRES_URL || !process.env.TEST_REDIS_URL) {
  process.once('exit', () => {
    console.warn(
      'Tests on a real PostgreSQL and Redis were skipped; to run them too:\n' +
        '  eval "$(bash tests/services.sh start)" && npm test',
    );
  });
}

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    testTimeout: 120_000,
    hookTimeout: 120_000,
  },
});

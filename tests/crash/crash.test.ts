import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { describePostgres } from '../services.ts';
import { points } from './protocol.ts';
import type { Report } from './run.ts';

/** Short runs of the command; what it looks for is tested in `check.test.ts`. For long ones: `npm run crash`. */

function crash(...args: readonly string[]): Promise<{ code: number | null; out: string; errors: string }> {
  const child = spawn(process.execPath, [join(import.meta.dirname, 'crash.ts'), ...args]);
  let out = '';
  let errors = '';
  child.stdout.on('data', (data) => {
    out += data;
  });
  child.stderr.on('data', (data) => {
    errors += data;
  });
  return new Promise((resolve) => child.on('close', (code) => resolve({ code, out, errors })));
}

/** Nothing was lost or doubled, and there was something to lose. */
async function expectKept(...args: readonly string[]): Promise<Report> {
  const { code, out, errors } = await crash('--json', '--seed', '20260301', ...args);
  expect(out, errors).toMatch(/^\{/);
  const report = JSON.parse(out) as Report;
  expect(report.broken, errors).toEqual([]);
  expect(code).toBe(0);
  const { counts } = report;
  expect(counts).toMatchObject({ lost: 0, doubled: 0, undelivered: 0, again: { unexplained: 0 } });
  expect(counts.acknowledged).toBe(counts.sent);
  expect(counts.sent).toBeGreaterThan(200);
  expect(counts.timers.rang).toBeGreaterThan(5);
  expect(counts.timers.takenBack).toBeGreaterThan(0);
  expect(counts.snapshots).toBeGreaterThan(0);
  return report;
}

function expectAllPoints({ kills }: Report): void {
  expect(kills.all).toBeGreaterThanOrEqual(25);
  for (const point of points) expect(kills.at[point], point).toBeGreaterThan(0);
  expect(kills.whileStarting).toBeGreaterThan(0);
}

describe('a desk that is killed again and again', () => {
  test('loses and doubles nothing in SQLite', async () => {
    expectAllPoints(await expectKept('--journal', 'sqlite', '--kills', '25'));
  });

  test('is not started with options that make no sense', async () => {
    for (const args of [
      ['--journal', 'paper'],
      ['--instances', '3'],
      ['--restart-database', '5'],
      ['--kills', 'many'],
      ['--kills', '0'],
    ]) {
      expect(await crash(...args)).toMatchObject({ code: 2, errors: expect.stringContaining('--journal') });
    }
  });
});

describePostgres('desks that are killed again and again', () => {
  test('lose and double nothing in PostgreSQL', async () => {
    expectAllPoints(await expectKept('--journal', 'postgres', '--kills', '25'));
  });

  test('lose and double nothing where three share it', async () => {
    const { kills } = await expectKept('--journal', 'postgres', '--instances', '3', '--kills', '14');
    expect(kills.all).toBeGreaterThanOrEqual(14);
  });

  test('lose and double nothing when the database crashes, too', async () => {
    const { restarts } = await expectKept(
      ...['--journal', 'postgres', '--instances', '3', '--restart-database', '4', '--kills', '8'],
      ...['--minutes', '0.3'],
    );
    expect(restarts).toBeGreaterThan(0);
  });
});

import { readFile, stat } from 'node:fs/promises';
import type { z } from 'zod';
import { Answer, type Event, Happening } from '../../shared/case.ts';
import { Advice } from '../advice.ts';
import { isAnswer } from '../core/reduce.ts';
import { schemaFindings } from '../files/schema-findings.ts';
import { codeOf } from '../files/text-file.ts';
import { printable } from './printable.ts';
import { ReportEnd, ReportHeader } from './report-format.ts';

export interface Report {
  readonly header: ReportHeader;
  readonly events: readonly Event[];
  /** Of the folded case's JSON text. */
  readonly sha256: string;
}

/** A report comes from anywhere. */
const longest = 64 * 1024 * 1024;
const mostEvents = 20_000;
const mostProblems = 50;

/** Throws `Advice` with all its problems, each with its line. */
export async function readReport(file: string): Promise<Report> {
  const read = parseReport(await textOf(file));
  if ('problems' in read) {
    const shown = read.problems.slice(0, mostProblems);
    const more = read.problems.length - shown.length;
    throw new Advice(
      [
        ...shown.map(({ line, problem }) => `${file}:${line}  ${printable(problem)}`),
        ...(more > 0 ? [`and ${more} more`] : []),
      ].join('\n'),
    );
  }
  return read.report;
}

async function textOf(file: string): Promise<string> {
  try {
    if ((await stat(file)).size > longest)
      throw new Advice(`${file} is longer than any report. Name a file that "report" wrote.`);
    return await readFile(file, 'utf8');
  } catch (cause) {
    if (cause instanceof Advice) throw cause;
    throw new Advice(`${file} cannot be read (${codeOf(cause)}). Check its name.`);
  }
}

interface Problem {
  /** From 1. */
  readonly line: number;
  readonly problem: string;
}

export type ParsedReport = { readonly report: Report } | { readonly problems: readonly Problem[] };

export function parseReport(text: string): ParsedReport {
  const lines = text.replace(/\r?\n$/, '').split('\n');
  if (lines.length > mostEvents + 2)
    return {
      problems: [{ line: mostEvents + 3, problem: `more than ${mostEvents} events: no case has them` }],
    };
  const problems: Problem[] = [];
  /** As it was written: a schema's own copy has its fields in another order, and the bytes count. */
  function checked<T>(data: unknown, schema: z.ZodType<T>, line: number): T | null {
    if (typeof data !== 'object' || data === null || Array.isArray(data)) {
      problems.push({ line, problem: 'this line is no block of names and values; take it out' });
      return null;
    }
    const parsed = schema.safeParse(data);
    if (parsed.success) return data as T;
    for (const { path, problem, instead } of schemaFindings(schema, data, parsed.error.issues, { echo: true })
      .findings)
      problems.push({
        line,
        problem: [path.join(' > '), `${problem}; ${instead}`].filter(Boolean).join(': '),
      });
    return null;
  }

  const said = lines.map((line, i) => {
    try {
      return JSON.parse(line) as unknown;
    } catch {
      problems.push({ line: i + 1, problem: 'this line is no JSON; each line is one whole value' });
      return undefined;
    }
  });
  const [first, ...others] = said;
  const last = others.pop();
  const header = first === undefined ? null : checked(first, ReportHeader, 1);
  const events = others.map((data, i) => (data === undefined ? null : checked(data, schemaFor(data), i + 2)));
  events.forEach((event, i) => {
    if (event && event.seq !== i + 1)
      problems.push({ line: i + 2, problem: `seq: event ${event.seq} stands where ${i + 1} belongs` });
  });
  const end = last === undefined ? null : checked(last, ReportEnd, lines.length);
  if (lines.length < 2) problems.push({ line: 1, problem: 'nothing follows the header' });
  if (!header || !end || problems.length > 0)
    return { problems: problems.toSorted((a, b) => a.line - b.line) };
  return { report: { header, events: events as Event[], sha256: end.case } };
}

const schemaFor = (data: unknown): z.ZodType<Event> =>
  typeof data === 'object' && data !== null && isAnswer(data as Event) ? Answer : Happening;

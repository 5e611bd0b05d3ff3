import type { Expectation } from '../../shared/flow.ts';
import { type Finding, type Path, quote, some } from '../files/finding.ts';
import { type Draft, entries, type Loose } from './draft.ts';
import { figure, tolerance } from './figures.ts';
import { type FaultNames, faultNames, isClear, valueFor } from './sparse.ts';

/** What a meter would show: bands in order, values that it can show, and a word on every fault. */
export function readingFindings(draft: Draft): Finding[] {
  const names = faultNames(draft);
  return entries(draft.flow.checks).flatMap(([i]) => oneReading(draft, names, i));
}

/** R.m.s. volts at which `mains` and `mains-peak` are judged here; the community's own are not known to a file. */
const exampleMains = 230;
export function volts(value: number | 'mains' | 'mains-peak', mains = exampleMains): number {
  if (value === 'mains') return mains;
  return value === 'mains-peak' ? mains * Math.SQRT2 : value;
}

function oneReading(draft: Draft, names: FaultNames, i: number): Finding[] {
  const reading = draft.flow.checks?.[i]?.reading;
  if (!reading) return [];
  const path: Path = ['checks', i, 'reading'];
  const findings: Finding[] = [];
  const { min, max } = reading;
  const range = min !== undefined && max !== undefined && min < max ? { min, max } : undefined;
  if (min !== undefined && max !== undefined && !range) {
    findings.push({
      path: [...path, 'max'],
      on: 'value',
      problem: `"max" is ${max} and "min" is ${min}`,
      instead: 'write the least and the most that the meter can show',
    });
  }

  const bands = reading.bands ?? [];
  let before = -Infinity;
  for (const [j, band] of entries(reading.bands)) {
    const place: Path = [...path, 'bands', j];
    if (!draft.sound(place)) continue;
    const last = j === bands.length - 1;
    if (band.below === undefined) {
      if (!last) {
        findings.push({
          path: place,
          on: 'value',
          problem: 'this band has no "below", and it is not the last one',
          instead: 'add "below:" with the value at which the next one begins',
        });
      }
      continue;
    }
    if (last) {
      findings.push({
        path: [...place, 'below'],
        on: 'value',
        problem: 'the last band has "below"',
        instead: 'take it out: the last band takes everything above the one before',
      });
      continue;
    }
    const end = volts(band.below);
    if (end <= before) {
      findings.push({
        path: [...place, 'below'],
        on: 'value',
        problem: `the bands do not go up: ${figure(end)} comes after ${figure(before)}`,
        instead: 'put the bands in order, from low to high',
      });
    } else if (range && (end <= range.min || end >= range.max)) {
      findings.push({
        path: [...place, 'below'],
        on: 'value',
        problem: `${figure(end)} lies outside what the meter can show (${min} to ${max})`,
        instead: 'change it, or "min" and "max"',
      });
    }
    before = Math.max(before, end);
  }

  const expect = reading.expect ?? {};
  for (const [name, value] of Object.entries(expect)) {
    if (!draft.sound([...path, 'expect', name])) continue;
    findings.push(...expectationFindings([...path, 'expect', name], value, range));
  }
  if (names.complete && draft.sound([...path, 'expect']) && isClear(expect, names)) {
    const silent = names.faults.filter((fault) => valueFor(expect, fault, names) === undefined);
    if (silent.length > 0) {
      findings.push({
        path: [...path, 'expect'],
        on: 'value',
        problem: `nothing says what the meter shows with ${some(silent.map(quote))}`,
        instead: 'add "otherwise:", or name every fault',
      });
    }
  }
  return findings;
}

function expectationFindings(
  path: Path,
  value: Loose<Expectation> | readonly (Loose<Expectation> | undefined)[] | undefined,
  range: { min: number; max: number } | undefined,
): Finding[] {
  const findings: Finding[] = [];
  const list: readonly [Path, Loose<Expectation>][] = isList(value)
    ? entries(value).map(([j, one]) => [[...path, j], one])
    : value
      ? [[path, value]]
      : [];
  for (const [place, one] of list) {
    if ('from' in one && one.from !== undefined && one.to !== undefined && one.from >= one.to) {
      findings.push({
        path: [...place, 'to'],
        on: 'value',
        problem: `from ${one.from} to ${one.to} is no range`,
        instead: 'write the lower number after "from" and the higher one after "to"',
      });
    } else if (range) {
      const ends =
        'at' in one
          ? { at: one.at }
          : { from: 'from' in one ? one.from : undefined, to: 'to' in one ? one.to : undefined };
      for (const [key, end] of Object.entries(ends)) {
        if (end === undefined) continue;
        const number = volts(end);
        if (number >= range.min && number <= range.max) continue;
        findings.push({
          path: [...place, key],
          on: 'value',
          problem: `${figure(number)} lies outside what the meter can show (${range.min} to ${range.max})`,
          instead: 'change it, or "min" and "max"',
        });
      }
    }
  }
  const shares = list.map(([, one]) => one.share ?? 1);
  const sum = shares.reduce((total, share) => total + share, 0);
  // Without any share the values of a list are equally likely.
  const equal = shares.length > 1 && shares.every((share) => share === 1);
  if (shares.length > 0 && !equal && Math.abs(sum - 1) > tolerance) {
    findings.push({
      path,
      on: 'value',
      problem: `the shares sum to ${figure(sum)}`,
      instead: shares.length === 1 ? 'take "share" out' : 'let them sum to 1',
    });
  }
  return findings;
}

const isList = <T>(value: T | readonly (T | undefined)[] | undefined): value is readonly (T | undefined)[] =>
  Array.isArray(value);

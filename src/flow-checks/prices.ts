import type { Price } from '../../shared/flow.ts';
import type { Finding, Path } from '../files/finding.ts';
import { type Draft, entries, type Loose } from './draft.ts';

/** Prices that can be true: from low to high, on a day that exists. */
export function priceFindings({ flow }: Draft): Finding[] {
  const findings = entries(flow.remedies).flatMap(([i, remedy]) =>
    onePrice(['remedies', i, 'part', 'price'], remedy.part?.price),
  );
  return [...findings, ...onePrice(['replace', 'price'], flow.replace?.price)];
}

function onePrice(path: Path, price: Loose<Price> | undefined): Finding[] {
  const findings: Finding[] = [];
  if (price?.low !== undefined && price.high !== undefined && price.low > price.high) {
    findings.push({
      path: [...path, 'low'],
      on: 'value',
      problem: `the low price ${price.low} is above the high one, ${price.high}`,
      instead: 'change the two round',
    });
  }
  if (price?.dated !== undefined && !isDay(price.dated)) {
    findings.push({
      path: [...path, 'dated'],
      on: 'value',
      problem: `there is no ${price.dated}`,
      instead: 'write the year, the month from 01 to 12 and, if known, the day',
    });
  }
  return findings;
}

function isDay(dated: string): boolean {
  const [year = 0, month = 0, day = 1] = dated.split('-').map(Number);
  const date = new Date(Date.UTC(year, month - 1, day));
  return date.getUTCMonth() === month - 1 && date.getUTCDate() === day;
}

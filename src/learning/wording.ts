import type { Flow } from '../../shared/flow.ts';
import { noComplaint } from './cells.ts';
import type { Distribution } from './learnt.ts';

/** What was learnt, in the words of the flow that it is about. */

const named = (list: readonly { readonly id: string; readonly name: string }[], id: string): string =>
  list.find((one) => one.id === id)?.name ?? id;
const labelled = (list: readonly { readonly id: string; readonly label: string }[], id: string): string =>
  list.find((one) => one.id === id)?.label ?? id;

/** What a learnt number is about, with names where the file has ids. */
export function meaning(one: Distribution, flow: Flow): string {
  switch (one.kind) {
    case 'complaints':
      return 'What people complain of';
    case 'faults':
      return one.complaint === noComplaint
        ? 'What it is, where no complaint of the list fits'
        : `What it is, when people say “${labelled(flow.complaints, one.complaint)}”`;
    case 'choice':
      return `What it is, where “${labelled(flow.details.find(({ id }) => id === one.detail)?.choices ?? [], one.choice)}” was answered`;
    case 'cure':
      return `How often “${named(flow.remedies, one.remedy)}” mends “${named(flow.faults, one.fault)}”`;
    case 'outcomes':
      return `What “${named(flow.checks, one.check)}” shows when it is “${named(flow.faults, one.fault)}”`;
    default:
      return one satisfies never;
  }
}

/** One row of it. */
export function partName(one: Distribution, part: string, flow: Flow): string {
  switch (one.kind) {
    case 'complaints':
      return part === noComplaint ? 'Nothing of the list' : labelled(flow.complaints, part);
    case 'faults':
    case 'choice':
      return named(flow.faults, part);
    case 'cure':
      return 'it works';
    case 'outcomes': {
      const check = flow.checks.find(({ id }) => id === one.check);
      return labelled(check?.outcomes ?? check?.reading?.bands ?? [], part);
    }
    default:
      return one satisfies never;
  }
}

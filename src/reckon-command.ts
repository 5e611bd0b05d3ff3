import { sums } from './core/reckon/reckon.ts';
import { sumLines } from './core/reckon/told.ts';
import type { Settings } from './core/settings.ts';

/** `npm run reckon`: the sums of the work, for the country of the community. Resolves to the exit code. */
export function reckonCommand(
  args: readonly string[],
  { settings }: { readonly settings: Settings },
): number {
  const [name = ''] = args;
  if (!Object.hasOwn(sums, name.toLowerCase())) {
    console.error('npm run reckon -- SUM NUMBERS\n');
    for (const { what, example } of Object.values(sums)) console.error(`${what}\n  ${example}`);
    return 2;
  }
  const lines = sumLines(args.join(' '), settings.community);
  const [only, ...others] = lines;
  if (others.length === 0) {
    console.error(only);
    return 1;
  }
  for (const line of lines) console.log(line);
  return 0;
}

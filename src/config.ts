import { access } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { Community } from '../shared/community.ts';
import type { Flow, Price } from '../shared/flow.ts';
import { formatProblem, placed, tidied } from './files/file-problem.ts';
import { type Finding, type Path, quote } from './files/finding.ts';
import { hiddenSigns } from './files/hidden-signs.ts';
import { schemaFindings } from './files/schema-findings.ts';
import { readText } from './files/text-file.ts';
import { readYaml } from './files/yaml-file.ts';
import { type OperationSettings, readOperation } from './operations/environment.ts';
import { readPlatforms } from './operations/platforms.ts';

/** Environment and community file -> settings; the only reader of `process.env`. */
export interface Settings extends OperationSettings {
  readonly community: Community;
  /** Where it came from; null: the example community that comes with the project. */
  readonly communityFile: string | null;
  readonly flowsDir: string;
}

/** `COMMUNITY_FILE`, else `community.yaml` where the desk is started, else this. */
export const exampleCommunity = join(import.meta.dirname, '..', 'community.example.yaml');

/** The chat platforms that a community and the environment name. */
export const platformsOf = (community: Community, env: NodeJS.ProcessEnv = process.env) =>
  readPlatforms(env, community);

export type ReadSettings = { readonly settings: Settings } | { readonly problems: string[] };

/**
 * All problems of the file and of the environment at once, each with its place and what to write. They never repeat a
 * value: somebody may have put a password there.
 */
export async function readSettings(
  env: NodeJS.ProcessEnv = process.env,
  cwd: string = process.cwd(),
): Promise<ReadSettings> {
  const local = await readCommunity(env, cwd);
  const running = readOperation(env, cwd);
  if ('problems' in local || 'problems' in running) {
    return { problems: [local, running].flatMap((one) => ('problems' in one ? one.problems : [])) };
  }
  const flowsDir = resolve(cwd, env.FLOWS_DIR?.trim() || join(import.meta.dirname, '..', 'flows'));
  return { settings: { ...local, ...running.operation, flowsDir } };
}

async function readCommunity(
  env: NodeJS.ProcessEnv,
  cwd: string,
): Promise<Pick<Settings, 'community' | 'communityFile'> | { readonly problems: string[] }> {
  const named = env.COMMUNITY_FILE?.trim();
  const own = resolve(cwd, named || 'community.yaml');
  const communityFile = named || (await exists(own)) ? own : null;
  const source = await readText(communityFile ?? exampleCommunity);
  if (typeof source !== 'string') {
    const hint = named ? ' in COMMUNITY_FILE' : '';
    return { problems: [`${formatProblem(source)}${hint}`] };
  }
  const parsed = parseCommunity(source, communityFile ?? exampleCommunity);
  return 'problems' in parsed ? parsed : { community: parsed.community, communityFile };
}

const exists = (file: string): Promise<boolean> =>
  access(file).then(
    () => true,
    () => false,
  );

/** `name` is what the file is called in problems. */
export function parseCommunity(
  source: string,
  name: string,
): { readonly community: Community } | { readonly problems: string[] } {
  const yaml = readYaml(source);
  const syntax = yaml.mistakes.map((mistake) => ({ file: name, where: '', ...mistake }));
  if (!yaml.readable) return { problems: syntax.map(formatProblem) };
  const parsed = Community.safeParse(yaml.data);
  const schema = parsed.success
    ? []
    : schemaFindings(Community, yaml.data, parsed.error.issues, { echo: false }).findings;
  const between = parsed.success ? ownRate(parsed.data) : [];
  const findings = [...schema, ...between, ...secrets(yaml.data), ...hiddenSigns(yaml.data)];
  const problems = tidied([...syntax, ...placed(findings, yaml, name, false)]);
  if (parsed.success && problems.length === 0) return { community: parsed.data };
  return { problems: problems.map(formatProblem) };
}

function ownRate({ currency, rates }: Community): Finding[] {
  const rate = rates[currency];
  if (rate === undefined || rate === 1) return [];
  return [
    {
      path: ['rates', currency],
      on: 'name',
      problem: "this is the community's own currency, and one of it is worth 1",
      instead: 'take the line out',
    },
  ];
}

/** Names under which people keep what nobody else may know. */
const secretName = /token|secret|password|passphrase|api[-_ ]?key|signing|webhook/i;

function secrets(data: unknown, path: Path = []): Finding[] {
  if (Array.isArray(data)) return data.flatMap((entry, i) => secrets(entry, [...path, i]));
  if (typeof data !== 'object' || data === null) return [];
  return Object.entries(data).flatMap(([key, value]): Finding[] =>
    secretName.test(key)
      ? [
          {
            path: [...path, key],
            on: 'name',
            problem: 'this looks like a secret, and this file is for everybody to read',
            instead: 'take it out and put it into the environment',
          },
        ]
      : secrets(value, [...path, key]),
  );
}

/** Currencies in which flows state prices and of which the community does not say what they are worth. */
export function checkRates(community: Community, flows: readonly Flow[]): string[] {
  const missing = new Map<string, Set<string>>();
  for (const flow of flows) {
    for (const { currency } of pricesOf(flow)) {
      if (currency === community.currency || community.rates[currency] !== undefined) continue;
      missing.set(currency, (missing.get(currency) ?? new Set()).add(flow.flow));
    }
  }
  return [...missing].toSorted().map(([currency, names]) => {
    const own = community.currency;
    return `rates: the community file does not say what one ${currency} is worth in ${own}, and prices of ${[...names].map(quote).join(', ')} are in ${currency}; add "${currency}: ..." under "rates"`;
  });
}

const pricesOf = (flow: Flow): Price[] => [
  ...flow.remedies.flatMap(({ part }) => (part ? [part.price] : [])),
  flow.replace.price,
];

import type { Component, Embed, File, MessageBody } from './wire.ts';

/**
 * Discord's published limits, checked by hand: https://discord.com/developers/docs/resources/message#create-message and
 * #embed-object-embed-limits, /components/reference, /interactions/receiving-and-responding, /resources/channel#start-thread.
 * Lengths are counted in UTF-16 units, which is never less than in code points.
 */

class Checks {
  readonly found: string[] = [];
  over(what: string, text: string | undefined, most: number, least = 0): void {
    if (text === undefined) return;
    if (typeof text !== 'string') this.found.push(`${what} is no text`);
    else if (text.length > most) this.found.push(`${what} has ${text.length} characters, at most ${most}`);
    else if (text.trim().length < least) this.found.push(`${what} is empty`);
  }
  that(fine: boolean, words: string): void {
    if (!fine) this.found.push(words);
  }
}

/** What is wrong with a message that is posted, or with one that a change leaves behind. */
export function messageProblems(body: MessageBody, files: readonly File[] = []): string[] {
  const checks = new Checks();
  const embeds = body.embeds ?? [];
  const components = body.components ?? [];
  checks.over('content', body.content ?? undefined, 2000);
  checks.that(embeds.length <= 10, `${embeds.length} embeds, at most 10`);
  for (const embed of embeds) embedProblems(embed, checks);
  const total = embeds.map(embedLength).reduce((sum, one) => sum + one, 0);
  checks.that(total <= 6000, `embeds have ${total} characters in all, at most 6000`);
  checks.that(files.length <= 10, `${files.length} files, at most 10`);
  rowsProblems(components, checks);
  if (body.nonce !== undefined)
    checks.that(
      String(body.nonce).length <= 25,
      `nonce has ${String(body.nonce).length} characters, at most 25`,
    );
  const { allowed_mentions: mentions } = body;
  checks.that(
    !(mentions?.parse?.includes('users') && mentions.users?.length) &&
      !(mentions?.parse?.includes('roles') && mentions.roles?.length),
    'allowed_mentions names a kind in parse and some of it as well',
  );
  for (const { description, filename } of body.attachments ?? []) {
    checks.over('attachment description', description, 1024);
    checks.that(filename === undefined || filename !== '', 'attachment without a name');
  }
  for (const { image } of embeds) {
    const named = /^attachment:\/\/(.*)$/.exec(image?.url ?? '')?.[1];
    if (named !== undefined && files.length > 0)
      checks.that(
        files.some(({ name }) => name === named),
        `the picture ${named} is not attached`,
      );
  }
  return checks.found;
}

/** A message has to show something. */
export const isEmpty = (body: MessageBody, files: readonly File[] = []): boolean =>
  (body.content ?? '').trim() === '' &&
  (body.embeds ?? []).length === 0 &&
  (body.components ?? []).length === 0 &&
  files.length === 0;

const embedLength = (embed: Embed): number =>
  [
    embed.title,
    embed.description,
    embed.footer?.text,
    embed.author?.name,
    ...(embed.fields ?? []).flatMap(({ name, value }) => [name, value]),
  ].reduce((sum, text) => sum + (text?.length ?? 0), 0);

function embedProblems(embed: Embed, checks: Checks): void {
  checks.over('embed title', embed.title, 256, 1);
  checks.over('embed description', embed.description, 4096, 1);
  checks.over('embed footer', embed.footer?.text, 2048, 1);
  checks.over('embed author', embed.author?.name, 256, 1);
  checks.that((embed.fields ?? []).length <= 25, 'more than 25 fields in an embed');
  for (const { name, value } of embed.fields ?? []) {
    checks.over('embed field name', name, 256, 1);
    checks.over('embed field value', value, 1024, 1);
  }
  checks.that(
    embedLength(embed) > 0 || embed.image !== undefined,
    'an embed shows nothing: no title, description, field, footer or picture',
  );
}

function rowsProblems(rows: readonly Component[], checks: Checks): void {
  checks.that(rows.length <= 5, `${rows.length} rows, at most 5`);
  const ids: string[] = [];
  for (const row of rows) {
    checks.that(row.type === 1, `a component of type ${row.type} stands where a row should be`);
    const inside = row.components ?? [];
    checks.that(inside.length > 0, 'a row is empty');
    const selects = inside.filter(({ type }) => type !== 2);
    checks.that(inside.length <= 5, `${inside.length} buttons in a row, at most 5`);
    checks.that(selects.length === 0 || inside.length === 1, 'a menu shares its row');
    for (const one of inside) {
      if (one.type === 2) buttonProblems(one, checks);
      else if (one.type === 3) selectProblems(one, checks);
      else checks.that(false, `a component of type ${one.type} in a row`);
      if (one.custom_id !== undefined) ids.push(one.custom_id);
    }
  }
  checks.that(new Set(ids).size === ids.length, 'the same custom_id twice');
}

function buttonProblems(one: Component, checks: Checks): void {
  checks.over('button label', one.label, 80, 1);
  checks.that(one.label !== undefined, 'a button without a label');
  checks.that([1, 2, 3, 4].includes(one.style ?? 0), `a button of style ${one.style}`);
  checks.that(one.custom_id !== undefined, 'a button without a custom_id');
  checks.over('custom_id', one.custom_id, 100, 1);
}

function selectProblems(one: Component, checks: Checks): void {
  const options = one.options ?? [];
  checks.that(one.custom_id !== undefined, 'a menu without a custom_id');
  checks.over('custom_id', one.custom_id, 100, 1);
  checks.over('placeholder', one.placeholder, 150);
  checks.that(options.length >= 1 && options.length <= 25, `a menu with ${options.length} options, 1 to 25`);
  for (const { label, value } of options) {
    checks.over('option label', label, 100, 1);
    checks.over('option value', value, 100, 1);
  }
  checks.that(
    new Set(options.map(({ value }) => value)).size === options.length,
    'the same option value twice',
  );
  const least = one.min_values ?? 1;
  const most = one.max_values ?? 1;
  checks.that(
    least >= 0 && least <= 25 && most >= 1 && most <= 25,
    'a menu takes an impossible number of values',
  );
  checks.that(least <= most && most <= options.length, 'a menu takes more values than it has');
  checks.that(!(one.required === true && least === 0), 'a menu is required and takes none');
}

/** What is wrong with a modal. */
export function modalProblems(modal: {
  readonly title?: string;
  readonly custom_id?: string;
  readonly components?: readonly Component[];
}): string[] {
  const checks = new Checks();
  checks.that(
    modal.title !== undefined && modal.custom_id !== undefined,
    'a modal without a title or custom_id',
  );
  checks.over('modal title', modal.title, 45, 1);
  checks.over('custom_id', modal.custom_id, 100, 1);
  const parts = modal.components ?? [];
  checks.that(parts.length >= 1 && parts.length <= 5, `a modal with ${parts.length} components, 1 to 5`);
  const ids: string[] = [];
  for (const part of parts) {
    checks.that(part.type === 18, `a component of type ${part.type} in a modal, where labels belong`);
    checks.that(part.label !== undefined, 'a label without words');
    checks.over('label', part.label, 45, 1);
    const inside = part.component;
    if (inside === undefined) {
      checks.that(false, 'a label holds nothing');
      continue;
    }
    if (inside.type === 3) selectProblems(inside, checks);
    else if (inside.type === 4) inputProblems(inside, checks);
    else checks.that(false, `a component of type ${inside.type} in a label`);
    if (inside.custom_id !== undefined) ids.push(inside.custom_id);
  }
  checks.that(new Set(ids).size === ids.length, 'the same custom_id twice');
  return checks.found;
}

function inputProblems(one: Component, checks: Checks): void {
  checks.that(one.custom_id !== undefined, 'a field without a custom_id');
  checks.over('custom_id', one.custom_id, 100, 1);
  checks.that(one.style === 1 || one.style === 2, `a field of style ${one.style}`);
  checks.that(one.label === undefined, 'a field with a label of its own inside a label');
  checks.over('placeholder', one.placeholder, 100);
  checks.over('value', one.value, 4000);
  const least = one.min_length ?? 0;
  const most = one.max_length ?? 4000;
  checks.that(least >= 0 && most >= 1 && most <= 4000 && least <= most, 'a field takes an impossible length');
}

export function threadProblems(body: {
  readonly name?: string;
  readonly auto_archive_duration?: number;
}): string[] {
  const checks = new Checks();
  checks.that(body.name !== undefined, 'a thread without a name');
  checks.over('thread name', body.name, 100, 1);
  checks.that(
    body.auto_archive_duration === undefined || [60, 1440, 4320, 10_080].includes(body.auto_archive_duration),
    `a thread cannot be archived after ${body.auto_archive_duration} minutes`,
  );
  return checks.found;
}

interface Command {
  readonly type?: number;
  readonly name?: string;
  readonly description?: string;
  readonly max_length?: number;
  readonly options?: readonly Command[];
}

/** https://discord.com/developers/docs/interactions/application-commands: names, descriptions, 100 commands, 25 options, 8000 characters. */
export function commandsProblems(list: readonly Command[]): string[] {
  const checks = new Checks();
  const names = list.map(({ type, name }) => `${type ?? 1} ${name}`);
  checks.that(new Set(names).size === names.length, 'the same command twice');
  checks.that(list.filter(({ type }) => (type ?? 1) === 1).length <= 100, 'more than 100 commands');
  checks.that(list.filter(({ type }) => type === 3).length <= 15, 'more than 15 message commands');
  for (const one of list) commandProblems(one, (one.type ?? 1) === 1, checks);
  return checks.found;
}

function commandProblems(one: Command, written: boolean, checks: Checks): void {
  checks.over('command name', one.name ?? '', 32, 1);
  if (!written) {
    checks.that((one.description ?? '') === '', 'a menu command with a description');
    return;
  }
  checks.that(
    /^[-_'\p{L}\p{N}\p{sc=Deva}\p{sc=Thai}]{1,32}$/u.test(one.name ?? '') &&
      one.name === one.name?.toLowerCase(),
    `no name for a command: ${one.name}`,
  );
  checks.over('command description', one.description ?? '', 100, 1);
  checks.that((one.options ?? []).length <= 25, 'more than 25 options');
  const size = (part: Command): number =>
    (part.name?.length ?? 0) +
    (part.description?.length ?? 0) +
    (part.options ?? []).reduce((sum, option) => sum + size(option), 0);
  checks.that(size(one) <= 8000, 'a command of more than 8000 characters');
  for (const option of one.options ?? []) commandProblems(option, true, checks);
}

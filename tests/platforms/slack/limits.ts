/** What Slack refuses in messages and views, by its published limits (https://docs.slack.dev/reference/block-kit). */

type Any = Record<string, unknown>;

const text = (value: unknown): string => (typeof value === 'string' ? value : '');

function textObject(
  value: unknown,
  most: number,
  where: string,
  wrong: string[],
  types = ['plain_text', 'mrkdwn'],
): void {
  const one = value as Any | undefined;
  if (!one || !types.includes(text(one.type))) wrong.push(`${where}: no text object`);
  else if (text(one.text).length < 1 || text(one.text).length > most)
    wrong.push(`${where}: ${text(one.text).length} characters`);
}

function options(list: unknown, where: string, wrong: string[]): void {
  const all = Array.isArray(list) ? (list as Any[]) : [];
  if (all.length < 1 || all.length > 100) wrong.push(`${where}: ${all.length} options`);
  for (const one of all) {
    textObject(one.text, 75, `${where} option`, wrong, ['plain_text']);
    if (text(one.value).length < 1 || text(one.value).length > 150)
      wrong.push(`${where}: value of ${text(one.value).length}`);
  }
  if (new Set(all.map(({ value }) => value)).size < all.length) wrong.push(`${where}: values twice`);
}

function element(one: Any, where: string, wrong: string[]): void {
  if (text(one.action_id).length < 1 || text(one.action_id).length > 255) wrong.push(`${where}: action_id`);
  switch (one.type) {
    case 'button':
      textObject(one.text, 75, `${where} button`, wrong, ['plain_text']);
      if (text(one.value).length > 2000) wrong.push(`${where}: value of ${text(one.value).length}`);
      if (one.style !== undefined && !['primary', 'danger'].includes(text(one.style)))
        wrong.push(`${where}: style`);
      return;
    case 'static_select':
      if (one.placeholder !== undefined)
        textObject(one.placeholder, 150, `${where} placeholder`, wrong, ['plain_text']);
      options(one.options, where, wrong);
      return;
    case 'plain_text_input':
      if (one.placeholder !== undefined)
        textObject(one.placeholder, 150, `${where} placeholder`, wrong, ['plain_text']);
      if (Number(one.max_length) > 3000) wrong.push(`${where}: max_length`);
      return;
    default:
      wrong.push(`${where}: no element ${text(one.type)}`);
  }
}

export function wrongBlocks(given: unknown, most: number): string[] {
  const wrong: string[] = [];
  const blocks = Array.isArray(given) ? (given as Any[]) : [];
  if (blocks.length > most) wrong.push(`${blocks.length} blocks`);
  const ids = blocks.flatMap(({ block_id }) => (block_id === undefined ? [] : [block_id]));
  if (new Set(ids).size < ids.length) wrong.push('block_id twice');
  for (const [i, block] of blocks.entries()) {
    const where = `block ${i} ${text(block.type)}`;
    switch (block.type) {
      case 'section':
        textObject(block.text, 3000, where, wrong);
        break;
      case 'header':
        textObject(block.text, 150, where, wrong, ['plain_text']);
        break;
      case 'divider':
        break;
      case 'context': {
        const all = Array.isArray(block.elements) ? (block.elements as Any[]) : [];
        if (all.length < 1 || all.length > 10) wrong.push(`${where}: ${all.length} elements`);
        for (const one of all) textObject(one, 3000, where, wrong);
        break;
      }
      case 'actions': {
        const all = Array.isArray(block.elements) ? (block.elements as Any[]) : [];
        if (all.length < 1 || all.length > 25) wrong.push(`${where}: ${all.length} elements`);
        for (const one of all) element(one, where, wrong);
        if (new Set(all.map(({ action_id }) => action_id)).size < all.length)
          wrong.push(`${where}: action_id twice`);
        break;
      }
      case 'input':
        textObject(block.label, 2000, where, wrong, ['plain_text']);
        element(block.element as Any, where, wrong);
        break;
      default:
        wrong.push(`${where}: no such block`);
    }
  }
  return wrong;
}

export function wrongMessage({ text: words, blocks }: Any): string[] {
  const wrong = blocks === undefined ? [] : wrongBlocks(blocks, 50);
  if (text(words).length > 40_000) wrong.push('text too long');
  if (text(words) === '' && !Array.isArray(blocks)) wrong.push('no text');
  return wrong;
}

export function wrongView(view: Any): string[] {
  const wrong = wrongBlocks(view.blocks, 100);
  if (view.type === 'modal') {
    textObject(view.title, 24, 'title', wrong, ['plain_text']);
    for (const name of ['submit', 'close'])
      if (view[name] !== undefined) textObject(view[name], 24, name, wrong, ['plain_text']);
  }
  if (text(view.private_metadata).length > 3000) wrong.push('private_metadata');
  if (text(view.callback_id).length > 255) wrong.push('callback_id');
  return wrong;
}

/** Whether a message would call somebody, or lay something out that the bot did not mean. */
export function pings(message: Any): string[] {
  const found: string[] = [];
  const look = (value: unknown): void => {
    if (Array.isArray(value)) value.forEach(look);
    else if (typeof value === 'object' && value !== null) {
      const one = value as Any;
      if (one.type === 'mrkdwn' && one.verbatim !== true) found.push('looked for links and names');
      for (const inner of Object.values(one)) look(inner);
    } else if (typeof value === 'string')
      found.push(...(value.match(/<(?:!(?:channel|here|everyone|subteam)|@[UW]|#C)[^>]*>?/g) ?? []));
  };
  look(message.blocks);
  look(message.text);
  return found;
}

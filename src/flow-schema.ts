import { z } from 'zod';
import { Flow } from '../shared/flow.ts';
import { fieldWords } from './flow-fields.ts';

type Schema = { [key: string]: unknown };

/** The JSON Schema of a flow file, for editors: what `Flow` says, each field with its line of words. */
export function flowJsonSchema(): Schema {
  const schema = z.toJSONSchema(Flow, { io: 'input' }) as Schema;
  describe(schema, '');
  return {
    $schema: schema.$schema,
    title: 'A flow: one kind of appliance as a fault model',
    ...schema,
  };
}

/** As it stands in `flows/flow.schema.json`. */
export const flowSchemaText = (): string => `${JSON.stringify(flowJsonSchema(), null, 2)}\n`;

/** Paths of all fields, such as `checks.power`; lists and names chosen by the author leave no mark. */
export function fieldPaths(schema: Schema = flowJsonSchema(), at = ''): string[] {
  const paths = fields(schema).flatMap(([name, field]) => {
    const path = at === '' ? name : `${at}.${name}`;
    return [path, ...fieldPaths(field, path)];
  });
  return [...new Set([...paths, ...inner(schema).flatMap((one) => fieldPaths(one, at))])];
}

function describe(schema: Schema, at: string): void {
  for (const [name, field] of fields(schema)) {
    const path = at === '' ? name : `${at}.${name}`;
    const words = fieldWords[path];
    if (words !== undefined) field.description = words.replaceAll('`', '');
    describe(field, path);
  }
  for (const one of inner(schema)) describe(one, at);
}

const fields = (schema: Schema): [string, Schema][] =>
  Object.entries((schema.properties ?? {}) as Record<string, Schema>);

/** What stands in a list, under a name of the author's choice, or in one of several forms. */
function inner(schema: Schema): Schema[] {
  const forms = [schema.anyOf, schema.oneOf].flatMap((list) =>
    Array.isArray(list) ? (list as Schema[]) : [],
  );
  const below = [schema.items, schema.additionalProperties].filter(
    (one): one is Schema => typeof one === 'object' && one !== null,
  );
  return [...forms, ...below];
}

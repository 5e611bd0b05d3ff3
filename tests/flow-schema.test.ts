import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { fieldWords } from '../src/flow-fields.ts';
import { fieldPaths, flowJsonSchema, flowSchemaText } from '../src/flow-schema.ts';

const flows = join(import.meta.dirname, '../flows');

describe('the JSON Schema for editors', () => {
  it('on disk is the one that the flows are checked with (npm run flows -- schema)', async () => {
    expect(await readFile(join(flows, 'flow.schema.json'), 'utf8')).toBe(flowSchemaText());
  });

  it('has a line of words for every field and none for fields that do not exist', () => {
    expect(fieldPaths().toSorted()).toEqual(Object.keys(fieldWords).toSorted());
    expect(flowJsonSchema()).toMatchObject({
      properties: {
        checks: {
          items: { properties: { power: { description: expect.stringContaining('look: prepared inside') } } },
        },
      },
    });
  });

  it('says the same as flows/README.md, field for field', async () => {
    const readme = await readFile(join(flows, 'README.md'), 'utf8');
    const rows: Record<string, string> = {};
    let places: string[] = [];
    for (const line of readme.slice(readme.indexOf('## All fields')).split('\n')) {
      if (line.startsWith('### ')) places = [...line.matchAll(/`([^`]+)`/g)].map(([, place]) => `${place}.`);
      const [, field, words] = /^\| `([^`]+)` \|(?: yes)? *\| (.*) \|$/.exec(line) ?? [];
      if (field === undefined || words === undefined) continue;
      for (const place of places.length > 0 ? places : ['']) rows[`${place}${field}`] = words;
    }
    expect(rows).toEqual(fieldWords);
  });
});

import type { File } from './wire.ts';

/** The parts of a multipart/form-data body (RFC 7578): the JSON in `payload_json`, and the files. */
export function readMultipart(
  body: Buffer,
  contentType: string,
): { readonly json: unknown; readonly files: readonly File[] } {
  const boundary = /boundary="?([^";]+)"?/.exec(contentType)?.[1] ?? '';
  const files: File[] = [];
  let json: unknown = {};
  for (const part of split(body, Buffer.from(`--${boundary}`))) {
    const gap = part.indexOf('\r\n\r\n');
    if (gap < 0) continue;
    const head = part.subarray(0, gap).toString('utf8');
    const data = part.subarray(gap + 4, part.length - 2);
    const field = / name="([^"]*)"/.exec(head)?.[1] ?? '';
    const name = / filename="([^"]*)"/.exec(head)?.[1];
    if (field === 'payload_json') json = JSON.parse(data.toString('utf8'));
    else if (name !== undefined) files.push({ field, name, data: Buffer.from(data) });
  }
  return { json, files };
}

function split(body: Buffer, by: Buffer): Buffer[] {
  const parts: Buffer[] = [];
  let from = body.indexOf(by);
  while (from >= 0) {
    const next = body.indexOf(by, from + by.length);
    if (next < 0) break;
    parts.push(body.subarray(from + by.length, next));
    from = next;
  }
  return parts;
}

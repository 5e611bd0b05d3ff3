/** How threads, keys and messages are called in the tables. */

/** What a database's text cannot hold, a zero character or half of a surrogate pair, is written as JSON. */
export const cell = (text: string): string =>
  text.isWellFormed() && !text.includes('\0') && !text.startsWith('"') ? text : JSON.stringify(text);
export const uncell = (text: string): string => (text.startsWith('"') ? JSON.parse(text) : text);

/** What a sealed part is bound to. */
export const placeOf = (thread: string, seq: number): string => `${thread}#${seq}`;

/** A question's message is kept once it was delivered, so that it can be changed; its id says so. */
export const messageId = (caseId: number, n: number, keyed: boolean): string =>
  `${caseId}.${n}${keyed ? '.q' : ''}`;
export function placeOfMessage(id: string): { caseId: number; n: number; keyed: boolean } | null {
  const found = /^(\d+)\.(\d+)(\.q)?$/.exec(id);
  return found ? { caseId: Number(found[1]), n: Number(found[2]), keyed: found[3] !== undefined } : null;
}

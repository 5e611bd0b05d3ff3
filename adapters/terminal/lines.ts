/**
 * Lines of a stream, one at a time. Reads no faster than it is asked to, copes with CRLF, a byte order mark and a
 * last line without an end, and never holds more than `longest` characters of an unfinished line.
 */
export class LineReader {
  readonly #input: NodeJS.ReadableStream;
  readonly #longest: number;
  readonly #decoder = new TextDecoder();
  #lines: string[] = [];
  #unfinished = '';
  #first = true;
  #ended = false;
  #wake: (() => void) | null = null;

  constructor(input: NodeJS.ReadableStream, longest: number) {
    this.#input = input;
    this.#longest = longest;
    input.on('data', this.#take);
    input.on('end', this.#end);
    input.on('close', this.#end);
    input.on('error', this.#end);
  }

  /** The next line without its end, or null when there is none any more. One caller at a time. */
  async next(): Promise<string | null> {
    while (this.#lines.length === 0 && !this.#ended) {
      this.#input.resume();
      await new Promise<void>((resolve) => {
        this.#wake = resolve;
      });
    }
    return this.#lines.shift() ?? null;
  }

  /** Lets go of the stream. Lines not asked for are dropped. */
  stop(): void {
    this.#input.off('data', this.#take);
    this.#input.off('end', this.#end);
    this.#input.off('close', this.#end);
    this.#input.pause();
    this.#ended = true;
    this.#lines = [];
    this.#wake?.();
  }

  readonly #take = (chunk: string | Uint8Array): void => {
    this.#split(typeof chunk === 'string' ? chunk : this.#decoder.decode(chunk, { stream: true }));
    if (this.#lines.length === 0) return;
    this.#input.pause();
    this.#wake?.();
  };

  readonly #end = (): void => {
    if (this.#ended) return;
    this.#split(this.#decoder.decode());
    if (this.#unfinished !== '') this.#lines.push(this.#unfinished.replace(/\r$/, ''));
    this.#unfinished = '';
    this.#ended = true;
    this.#wake?.();
  };

  #split(text: string): void {
    // The decoder takes the mark away from bytes, but not from a stream that is text already.
    const plain = this.#first ? text.replace(/^\ufeff/, '') : text;
    if (text !== '') this.#first = false;
    const [head = '', ...rest] = plain.split('\n');
    this.#extend(head);
    for (const next of rest) {
      this.#lines.push(this.#unfinished.replace(/\r$/, ''));
      this.#unfinished = '';
      this.#extend(next);
    }
  }

  /** What is over the limit falls away, but for one character: the line stays known as too long. */
  #extend(text: string): void {
    this.#unfinished = (this.#unfinished + text).slice(0, this.#longest + 1);
  }
}

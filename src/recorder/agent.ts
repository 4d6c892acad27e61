import { AppError, BadInputError, type Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { PartReader } from './multipart.js';

/** How an agent is asked for what it observed (MTConnect Part 1, sample request). */
export interface Asked {
  /** Milliseconds between two documents of a streamed answer. */
  readonly intervalMs: number;
  /** After so long without an observation the agent sends an empty document, by which it is known to be there. */
  readonly heartbeatMs: number;
  /** Observations in one document at most. */
  readonly count: number;
}

/** An agent is taken to be gone when nothing came of it for so many heartbeats. */
const HEARTBEATS = 2;
const GRACE_MS = 5000;
const XML = /^(?:application|text)\/xml\b/i;
const PARTS = /^multipart\/x-mixed-replace\s*;(?:.*;)?\s*boundary=(?:"([^"]{1,200})"|([^\s;"]{1,200}))/i;

/**
 * The agent of a machine at its address, or at that of one of its devices. It is only ever asked, by GET: nothing that
 * could move a machine is sent. It is asked at the address that was given and at no other, wherever it points.
 */
export class Agent {
  private constructor(
    private readonly base: URL,
    private readonly asked: Asked,
  ) {}

  /** @throws BadInputError for what is no plain address. */
  static at(address: string, asked: Asked): Agent {
    const base = URL.canParse(address) ? new URL(address) : undefined;
    const refuse = (found: string): never => {
      const expected = 'the address of an agent, such as http://hc-2.example:5000 or http://hc-2.example:5000/device';
      const remedy =
        'give its address without user, query and fragment: the recorder asks for current and sample by itself';
      throw new BadInputError([{ code: 'agent-address', field: 'url', found, expected, remedy } satisfies Problem]);
    };
    if (base === undefined || !/^https?:$/.test(base.protocol)) return refuse(address);
    if (base.username !== '' || base.password !== '') return refuse('an address with a name or password in it');
    if (base.search !== '' || base.hash !== '') return refuse(address);
    if (!base.pathname.endsWith('/')) base.pathname += '/';
    return new Agent(base, asked);
  }

  /** As it was given, without the last slash. */
  get address(): string {
    return this.base.href.replace(/\/$/, '');
  }

  /** The newest of everything, as one document. */
  current(signal: AbortSignal): Promise<Buffer> {
    return this.one('current', signal);
  }

  /** What its devices can observe, as one document. */
  probe(signal: AbortSignal): Promise<Buffer> {
    return this.one('probe', signal);
  }

  private async one(request: string, signal: AbortSignal): Promise<Buffer> {
    let found: Buffer | undefined;
    for await (const document of this.documents(request, {}, signal)) found ??= document;
    if (found === undefined) throw this.failed('gives no document');
    return found;
  }

  /** Documents with what was observed from a sequence number on, until the agent ends the answer. One that cannot stream gives one. */
  sample(from: number, signal: AbortSignal): AsyncGenerator<Buffer> {
    const { intervalMs, heartbeatMs, count } = this.asked;
    return this.documents('sample', { from, count, interval: intervalMs, heartbeat: heartbeatMs }, signal);
  }

  private async *documents(
    request: string,
    query: Readonly<Record<string, number>>,
    signal: AbortSignal,
  ): AsyncGenerator<Buffer> {
    const url = new URL(request, this.base);
    for (const [name, value] of Object.entries(query)) url.searchParams.set(name, String(value));
    const watch = new Watchdog(HEARTBEATS * this.asked.heartbeatMs + GRACE_MS, signal);
    try {
      const answer = await fetch(url, { redirect: 'manual', signal: watch.signal });
      watch.heard();
      yield* this.bodies(answer, watch);
    } catch (error) {
      if (error instanceof AppError) throw error;
      signal.throwIfAborted();
      const { message, cause } = error as Error;
      const why = watch.isOver ? 'is silent' : `cannot be reached: ${(cause as Error | undefined)?.message ?? message}`;
      throw this.failed(why);
    } finally {
      watch.end();
    }
  }

  private async *bodies(answer: Response, watch: Watchdog): AsyncGenerator<Buffer> {
    const type = answer.headers.get('content-type') ?? '';
    const [, quoted, plain] = PARTS.exec(type) ?? [];
    const boundary = quoted ?? plain;
    // An agent that refuses a request says why in a document of its own, with whatever status.
    if (!answer.ok && !XML.test(type)) throw this.failed(`answers ${answer.status}`);
    if (boundary === undefined && !XML.test(type))
      throw this.failed(`answers with the type "${type.slice(0, 100)}", and not with XML`);
    const parts = boundary === undefined ? undefined : new PartReader(boundary);
    const pieces: Uint8Array[] = [];
    let bytes = 0;
    for await (const piece of answer.body ?? []) {
      watch.heard();
      if (parts) {
        yield* parts.take(piece);
        continue;
      }
      bytes += piece.length;
      if (bytes > MOST.recordedDocumentBytes)
        throw this.failed(`answers with more than ${MOST.recordedDocumentBytes} bytes`);
      pieces.push(piece);
    }
    if (!parts) yield Buffer.concat(pieces);
  }

  private failed(why: string): AppError {
    return new AppError('STORAGE', `the agent at ${this.address} ${why}`);
  }
}

/** Ends a request of which nothing was heard for a time, or that is not wanted any more. */
class Watchdog {
  private readonly own = new AbortController();
  private timer: NodeJS.Timeout;
  readonly signal: AbortSignal;
  isOver = false;

  constructor(
    private readonly silenceMs: number,
    outer: AbortSignal,
  ) {
    this.signal = AbortSignal.any([outer, this.own.signal]);
    this.timer = this.begin();
  }

  heard(): void {
    clearTimeout(this.timer);
    this.timer = this.begin();
  }

  end(): void {
    clearTimeout(this.timer);
    this.own.abort();
  }

  private begin(): NodeJS.Timeout {
    return setTimeout(() => {
      this.isOver = true;
      this.own.abort();
    }, this.silenceMs);
  }
}

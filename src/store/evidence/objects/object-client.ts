import { createHash } from 'node:crypto';
import { setTimeout as sleep } from 'node:timers/promises';
import { AwsV4Signer } from 'aws4fetch';
import { systemClock } from '../../../base/clock.js';
import { explained } from '../../../base/disk-trouble.js';
import { AppError } from '../../../base/errors.js';
import {
  isPassing,
  networkText,
  type Refusal,
  refusalError,
  SilentError,
  unreachable,
} from '../../../base/object-store-trouble.js';
import { codeIn } from './object-answers.js';
import { credentialsGiven, type ObjectCredentials } from './object-credentials.js';
import type { ObjectPlace } from './object-place.js';

export interface Asked {
  readonly method: 'GET' | 'HEAD' | 'PUT' | 'POST' | 'DELETE';
  /** Below the bucket; absent for the bucket itself. */
  readonly key?: string;
  readonly query?: Readonly<Record<string, string>>;
  readonly headers?: Readonly<Record<string, string>>;
  readonly body?: Uint8Array<ArrayBuffer>;
}

export interface Answer {
  readonly status: number;
  readonly headers: Headers;
  readonly body: Uint8Array;
}

const TRIES = 6;
/** Before the second try; it doubles with each, with some chance, so that many do not come at once again. */
const FIRST_WAIT_MS = 100;
/** For an answer to a request; a part at a hundred kilobytes a second takes most of it. */
const ANSWER_MS = 120_000;
/** For the next bytes of a long answer. */
const SILENCE_MS = 30_000;
/** Of what is read into memory: lists and errors. */
const LONGEST_ANSWER = 1 << 24;
const NOTHING = new Uint8Array();

export interface ClientOptions {
  readonly credentials?: () => ObjectCredentials;
  readonly firstWaitMs?: number;
  readonly silenceMs?: number;
}

/**
 * Requests to an object store by the S3 protocol, signed by Signature Version 4 over the SHA-256 of what they carry. Each may
 * be sent again without doing anything twice, and is, when the network or the server was at fault for a moment.
 */
export class ObjectClient {
  private readonly credentials: () => ObjectCredentials;
  private readonly firstWaitMs: number;
  private readonly silenceMs: number;
  /** Keys that were derived from the secret, for a day each. */
  private readonly derived = new Map<string, ArrayBuffer>();

  constructor(
    readonly place: ObjectPlace,
    options: ClientOptions = {},
  ) {
    this.credentials = options.credentials ?? (() => credentialsGiven(place.address));
    this.firstWaitMs = options.firstWaitMs ?? FIRST_WAIT_MS;
    this.silenceMs = options.silenceMs ?? SILENCE_MS;
  }

  /**
   * @param expected answers beside those of success that are handed back.
   * @throws AppError STORAGE for any other, and when nothing answers, with what that means.
   */
  async ask(
    asked: Asked,
    expected: (refusal: Refusal) => boolean = () => false,
  ): Promise<Answer & { refusal?: Refusal }> {
    return this.trying(async () => {
      const answered = await this.send(asked, AbortSignal.timeout(ANSWER_MS));
      const body = await this.wholeBody(answered);
      const refusal = refusalOf(answered, body);
      const answer = { status: answered.status, headers: answered.headers, body };
      if (refusal === undefined) return answer;
      if (expected(refusal)) return { ...answer, refusal };
      throw new Refused(refusal);
    });
  }

  /**
   * The bytes of an object as they come; a stream that is cut goes on where it was.
   * @returns undefined when there is no such object.
   * @throws AppError STORAGE also when this machine does not take what comes.
   */
  async read(key: string, take: (piece: Uint8Array) => Promise<void> | void): Promise<number | undefined> {
    let at = 0;
    let etag: string | undefined;
    return this.trying(
      async () => {
        const silence = new AbortController();
        const again = () => setTimeout(() => silence.abort(new SilentError()), this.silenceMs);
        let timer = again();
        try {
          const headers =
            at === 0 ? {} : { range: `bytes=${at}-`, ...(etag === undefined ? {} : { 'if-match': etag }) };
          const answered = await this.send({ method: 'GET', key, headers }, silence.signal);
          if (answered.status === 404) {
            const refusal = refusalOf(answered, await this.wholeBody(answered))!;
            if (refusal.code === 'NoSuchBucket') throw new Refused(refusal);
            return undefined;
          }
          // All bytes were there, and the end was cut.
          if (at > 0 && answered.status === 416) return at;
          if (!answered.ok) throw new Refused(refusalOf(answered, await this.wholeBody(answered))!);
          if (at > 0 && answered.status !== 206) throw this.error('STORAGE', 'begins an object anew');
          etag = answered.headers.get('etag') ?? undefined;
          const told = answered.headers.get('content-length');
          const end = told === null ? undefined : at + Number(told);
          for await (const piece of answered.body ?? []) {
            clearTimeout(timer);
            // Taken once: a fault of this machine is none of the network, and a piece is not hashed twice.
            await this.taken(take, piece);
            at += piece.length;
            timer = again();
          }
          if (end !== undefined && at !== end) throw new Error(`the object ends at ${at} of ${end} bytes`);
          return at;
        } finally {
          clearTimeout(timer);
        }
      },
      () => at,
    );
  }

  private async taken(take: (piece: Uint8Array) => Promise<void> | void, piece: Uint8Array): Promise<void> {
    try {
      await take(piece);
    } catch (error) {
      if (error instanceof AppError) throw error;
      const { message } = explained(error) as Error;
      throw new AppError(
        'STORAGE',
        `this machine does not take what comes from the object store ${this.place.address}: ${message}`,
        { code: (error as NodeJS.ErrnoException).code },
      );
    }
  }

  /** @param progress what was reached; a try that got further counts as the first one again. */
  private async trying<T>(attempt: () => Promise<T>, progress: () => number = () => 0): Promise<T> {
    let reached = 0;
    for (let tries = 1; ; tries++) {
      try {
        return await attempt();
      } catch (error) {
        if (error instanceof AppError) throw error;
        if (progress() > reached) {
          reached = progress();
          tries = 1;
        }
        const isLast = tries >= TRIES;
        if (error instanceof Refused && (isLast || !isPassing(error.refusal))) {
          throw refusalError(this.place.address, error.refusal, systemClock.now());
        }
        if (isLast) throw unreachable(this.place.address, networkText(error));
        await sleep(this.firstWaitMs * 2 ** (tries - 1) * (0.5 + Math.random()));
      }
    }
  }

  private async send({ method, key, query = {}, headers = {}, body }: Asked, signal: AbortSignal): Promise<Response> {
    const { server, bucket, region } = this.place;
    const url = new URL(`${server}/${bucket}${key === undefined ? '' : `/${key}`}`);
    for (const [name, value] of Object.entries(query)) url.searchParams.set(name, value);
    const { key: accessKeyId, secret: secretAccessKey, token } = this.credentials();
    const content = createHash('sha256')
      .update(body ?? NOTHING)
      .digest('hex');
    const signed = await new AwsV4Signer({
      ...{ method, url: url.href, service: 's3', region, accessKeyId, secretAccessKey, cache: this.derived },
      ...(token === undefined ? {} : { sessionToken: token }),
      headers: { ...headers, 'x-amz-content-sha256': content },
    }).sign();
    const { headers: all } = signed;
    return fetch(signed.url, {
      method,
      headers: all,
      signal,
      redirect: 'manual',
      body: body ?? null,
    });
  }

  private async wholeBody(answered: Response): Promise<Uint8Array> {
    const pieces: Uint8Array[] = [];
    let bytes = 0;
    for await (const piece of answered.body ?? []) {
      bytes += piece.length;
      if (bytes > LONGEST_ANSWER) throw this.error('STORAGE', `answers more than ${LONGEST_ANSWER} bytes`);
      pieces.push(piece);
    }
    return Buffer.concat(pieces);
  }

  /** @param what it does, in words. */
  error(code: 'ALTERED' | 'STORAGE', what: string, facts: Readonly<Record<string, unknown>> = {}): AppError {
    return new AppError(code, `the object store ${this.place.address} ${what}`, facts);
  }
}

/** An answer that refuses, on its way to being tried again or told. */
class Refused extends Error {
  constructor(readonly refusal: Refusal) {
    super(refusal.code);
  }
}

/** An answer of success may hold an error all the same, where putting parts together takes long. */
function refusalOf(answered: Response, body: Uint8Array): Refusal | undefined {
  const code = codeIn(body);
  if (answered.ok && code === '') return undefined;
  const date = new Date(answered.headers.get('date') ?? '');
  // Whatever an answer of success refuses, the server was at fault.
  const status = answered.ok ? 500 : answered.status;
  return { status, code, at: Number.isNaN(date.getTime()) ? undefined : date };
}

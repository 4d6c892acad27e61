import { AppError } from './errors.js';

/** What a server says by an answer that is not what was asked for. */
export interface Refusal {
  readonly status: number;
  /** Word of the protocol; empty where the answer has none. */
  readonly code: string;
  /** By the clock of the server; undefined where it did not say. */
  readonly at: Date | undefined;
}

/** Words of the protocol, by what whoever keeps the store has to do. From memory of its public documentation. */
const MEANINGS: readonly { readonly codes: RegExp; readonly says: string }[] = [
  {
    codes: /^(?:ExpiredToken|TokenRefreshRequired|InvalidToken|ExpiredTokenException)$/,
    says: 'the credentials have expired: nothing was stored; renew them, and do it again',
  },
  {
    codes: /^(?:InvalidAccessKeyId|SignatureDoesNotMatch|AuthorizationHeaderMalformed)$/,
    says: 'it does not know these credentials: look at LOTWRIGHT_EVIDENCE_KEY, its secret, and the region of the address',
  },
  { codes: /^AccessDenied$/, says: 'these credentials may not do that there' },
  { codes: /^NoSuchBucket$/, says: 'there is no such bucket: have it made by whoever runs the store' },
  {
    codes:
      /^(?:InsufficientStorage|InsufficientCapacity|QuotaExceeded\w*|StorageFull|XMinioStorageFull|EntityTooLarge)$/,
    says: 'the object store is full: what was being stored was not stored; make room there and do it again',
  },
  { codes: /^(?:NotImplemented|MethodNotAllowed)$/, says: 'it does not offer what evidence needs of it' },
  {
    codes: /^(?:ObjectLocked|InvalidRequest\.ObjectLock\w*|ObjectLockConfigurationNotFoundError)$/,
    says: 'the bucket keeps no locks, or the object is locked',
  },
];
const SKEWED = /^(?:RequestTimeTooSkewed|RequestExpired|RequestInTheFuture)$/;
const PASSING =
  /^(?:InternalError|SlowDown|ServiceUnavailable|RequestTimeout|OperationAborted|ConditionalRequestConflict|Busy|TooManyRequests)$/;
/** Bytes that came otherwise than they were sent: sent again they may come whole. */
const SPOILT = /^(?:BadDigest|XAmzContentSHA256Mismatch|IncompleteBody|InvalidDigest)$/;
const FULL = 507;

/** Whether the same request may go through when it is sent again. */
export const isPassing = ({ status, code }: Refusal): boolean =>
  PASSING.test(code) || SPOILT.test(code) || (code === '' && [429, 500, 502, 503, 504].includes(status));

export const isAbsent = ({ status, code }: Refusal): boolean =>
  code === '' ? status === 404 : code === 'NoSuchKey' || code === 'NoSuchVersion' || code === 'NotFound';

/** @param address of the place. @param now of this machine. */
export function refusalError(address: string, refusal: Refusal, now: Date): AppError {
  const { status, code, at } = refusal;
  const facts = { code, status };
  const of = (says: string) =>
    new AppError('STORAGE', `the object store ${address}: ${says} (${code === '' ? status : code})`, facts);
  if (SKEWED.test(code)) return of(skewText(at, now));
  const meaning = MEANINGS.find(({ codes }) => codes.test(code));
  if (meaning) return of(meaning.says);
  if (status === FULL) return of(MEANINGS.find(({ codes }) => codes.test('StorageFull'))!.says);
  if (SPOILT.test(code)) return of('bytes come there otherwise than they leave here: look at the network between');
  if (isPassing(refusal)) return of('it answers that it cannot now: do it again later');
  if (status >= 300 && status < 400) return of('it sends us elsewhere: is the region of the address right?');
  return of('it answers otherwise than the protocol says');
}

function skewText(at: Date | undefined, now: Date): string {
  const apart =
    at === undefined
      ? 'the clocks are too far apart'
      : `its clock stands at ${at.toISOString()}, and that of this machine at ${now.toISOString()}`;
  return `${apart}: set the one that is wrong right. Nothing was stored`;
}

export const unreachable = (address: string, why: string): AppError =>
  new AppError(
    'STORAGE',
    `the object store ${address} cannot be reached: ${why}. What was being stored was not stored`,
    {
      code: 'unreachable',
    },
  );

/** Bytes stopped coming. */
export class SilentError extends Error {}

/** What a network says of itself. */
export function networkText(error: unknown): string {
  const { message, cause, name } = error as Error;
  if (name === 'TimeoutError' || error instanceof SilentError) return 'it does not answer in time';
  const inner = cause as (Error & { code?: string }) | undefined;
  return inner === undefined ? message : ((inner.message || inner.code) ?? message);
}

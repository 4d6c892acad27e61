import { BadInputError } from '../../../base/errors.js';

/** Where the objects of one installation lie, as `LOTWRIGHT_EVIDENCE` and the data folder name it. */
export interface ObjectPlace {
  /** As it is written down: it holds nothing secret. */
  readonly address: string;
  /** Of the server: `https://store.example:9000`. */
  readonly server: string;
  readonly bucket: string;
  /** Before each name; empty or with a stroke at its end. */
  readonly prefix: string;
  readonly region: string;
  /** For how many days from its putting on nobody may remove an object without a right of their own; undefined for none. */
  readonly lockDays: number | undefined;
}

/** The scheme says which protocol is spoken over which transport. */
const SCHEME = /^s3\+(https?):$/;
/** Names of buckets that every server takes; and prefixes that need no escaping in an address. */
const BUCKET = /^[a-z0-9][a-z0-9.-]{1,61}[a-z0-9]$/;
const PREFIX = /^(?:[\w-][\w.-]*\/)*$/;
const REGION = /^[a-z0-9-]{1,60}$/;
/** Where nothing else is said: what servers that know no regions take. */
const USUAL_REGION = 'us-east-1';
const LONGEST_LOCK_DAYS = 36_500;
const OWN_HOSTS = ['127.0.0.1', '[::1]', 'localhost'];

/**
 * Reads an address such as `s3+https://store.example/bucket/cell-1?region=eu-1&lock-days=5840`.
 * @param field where it was given, for messages.
 * @throws BadInputError for anything else; what it says never repeats a password.
 */
export function objectPlace(address: string, field = 'LOTWRIGHT_EVIDENCE'): ObjectPlace {
  const refuse = (found: string, expected?: string, remedy = 'name the place again'): never => {
    throw new BadInputError([
      {
        ...{ code: 'evidence-place', field, found, remedy },
        expected: expected ?? 's3+https://host/bucket, with a folder behind it where you want one',
      },
    ]);
  };
  const url = URL.canParse(address) ? new URL(address) : refuse('what is no address');
  const scheme = SCHEME.exec(url.protocol)?.[1] ?? refuse(`the scheme ${url.protocol}`);
  if (url.username !== '' || url.password !== '' || url.hash !== '') {
    refuse('more than a place', 'an address without name and password', 'name the key by LOTWRIGHT_EVIDENCE_KEY');
  }
  // Of a scheme that nobody registered the host is taken as it is written.
  const host = url.host.toLowerCase();
  if (host === '') refuse('no host');
  if (scheme === 'http' && !OWN_HOSTS.includes(url.hostname.toLowerCase())) {
    refuse('plain HTTP to another machine', 's3+https://', 'speak to it over TLS: evidence tells of patients');
  }
  const [, bucket = '', ...folders] = url.pathname.split('/');
  const prefix = folders.filter((name) => name !== '').map((name) => `${name}/`);
  if (!BUCKET.test(bucket)) refuse(`the bucket "${bucket}"`);
  if (!PREFIX.test(prefix.join('')) || prefix.includes('../')) refuse(`the folder "${prefix.join('')}"`);
  const given = Object.fromEntries(url.searchParams);
  const { region = USUAL_REGION, 'lock-days': days, ...others } = given;
  const [other] = Object.keys(others);
  if (other !== undefined) refuse(`the setting "${other}"`, 'region or lock-days');
  if (!REGION.test(region)) refuse(`the region "${region}"`, 'the name of a region');
  const lockDays = days === undefined ? undefined : Number(days);
  if (lockDays !== undefined && !(Number.isInteger(lockDays) && lockDays >= 1 && lockDays <= LONGEST_LOCK_DAYS)) {
    refuse(`"${days}" as lock-days`, `a whole number of days up to ${LONGEST_LOCK_DAYS}`);
  }
  return { address, server: `${scheme}://${host}`, bucket, prefix: prefix.join(''), region, lockDays };
}

/** Whether two addresses lead to the same objects. */
export function isSamePlace(one: string, other: string): boolean {
  const [a, b] = [objectPlace(one), objectPlace(other)];
  return a.server === b.server && a.bucket === b.bucket && a.prefix === b.prefix;
}

import { randomBytes, X509Certificate } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { AppError, BadInputError } from '../base/errors.js';
import { checkpointText, headLine, parseHead, type ReadHead, readHead } from '../ledger/checkpoint.js';
import type { Event } from '../ledger/event.js';
import { faultOfAct } from '../ledger/signed-acts.js';
import { readTimeStamp, stampedDigest, timeStampRequest, tokenIn } from '../ledger/time-stamp.js';
import { CLOCKS_DIFFER_MS } from '../ledger/times-in-order.js';
import { headMail } from '../report/phrases/commands/custody.js';
import type { FolderFault } from '../report/phrases/stored-faults.js';
import { AnchorFile } from '../store/anchor-file.js';
import { AnchorUrl } from '../store/anchor-url.js';
import type { DataFolder } from '../store/data-folder.js';
import { syncFolder } from '../store/evidence/plain-file.js';
import { keptHead } from '../store/kept-head.js';
import type { SignedHead } from '../store/ledger-proofs.js';
import { readIfReached } from '../store/second-anchor.js';
import type { Store } from '../store/store.js';

type Witnessed = Extract<Event, { type: 'head-witnessed' }>;

/** An authority that does not answer is waited for so long. */
const ANSWER_MS = 30_000;
/** Longest answer that is read: tokens with whole chains of certificates have some ten thousand bytes. */
const LONGEST_ANSWER = 1 << 20;
/** Less than a day, so that a check at the same hour asks each day. */
const STAMP_EVERY_MS = 20 * 3_600_000;
const HEAD_FILE = /^head-[0-9a-f]{16}-(\d+)\.txt$/;

/**
 * Leaves the head as a file in the folder of a witness, and from now on compares with what lies there. A file is never
 * replaced: so the folder may be one in which this program can only add.
 * @throws AppError NOT_FOUND when there is no such folder.
 */
export async function dropHead(store: Store, folder: string, head: SignedHead, actor: string): Promise<Witnessed> {
  const place = path.resolve(folder);
  if (!fs.existsSync(place))
    throw new AppError('NOT_FOUND', `there is no folder ${place}: is the disk of the witness connected?`);
  const { origin, size, root, note } = head;
  const file = path.join(place, `head-${origin.slice(-16)}-${size}.txt`);
  const at = store.clock.now().toISOString();
  try {
    fs.writeFileSync(file, headMail(headLine(note), { origin, size, at }), { flag: 'wx', flush: true });
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
  }
  syncFolder(place);
  if (!store.folder.drops.includes(place)) store.folder.with({ drops: [...store.folder.drops, place] });
  return record(store, { type: 'head-witnessed', by: place, size, root, at, token: null }, actor);
}

/**
 * Has the head stamped by the authority that was configured.
 * @throws AppError CONFLICT where none was, or the clock of the machine stands far behind that of the authority; STORAGE when
 *   it does not answer; ALTERED when its stamp does not hold.
 */
export async function stampHead(store: Store, head: SignedHead, actor: string): Promise<Witnessed> {
  const { folder } = store;
  if (folder.timeStamps === undefined) {
    throw new AppError('CONFLICT', 'no authority for time stamps is configured: use ledger authority');
  }
  const { origin, size, root } = head;
  const text = checkpointText({ origin, size, root });
  const nonce = randomBytes(8);
  const token = tokenIn(await answerOf(folder.timeStamps, timeStampRequest(stampedDigest(text), nonce)));
  const { at, authority } = readTimeStamp(token, text, { trusted: trustedIn(folder), nonce });
  const now = store.clock.now();
  if (Date.parse(at) > now.getTime() + CLOCKS_DIFFER_MS) {
    throw new AppError(
      'CONFLICT',
      `the clock of this machine (${now.toISOString()}) stands before that of the authority (${at}): set it, or what is signed next would stand before this stamp`,
    );
  }
  const stamp = { type: 'head-witnessed', by: authority, size, root, at, token: token.toString('base64') } as const;
  return record(store, stamp, actor);
}

/**
 * Asks the authority, where one is configured, for the time stamp of the day.
 * @returns what came of it as a fault: it stops nothing.
 */
export async function stampOfTheDay(store: Store, actor: string): Promise<WitnessFault[]> {
  const { timeStamps } = store.folder;
  if (timeStamps === undefined || (await wasStampedLately(store))) return [];
  try {
    await stampHead(store, await store.proofs.signedHead(), actor);
    return [];
  } catch (error) {
    return [
      {
        what: 'witness',
        name: timeStamps,
        fault: { code: 'not stamped', facts: { message: (error as Error).message } },
      },
    ];
  }
}

async function wasStampedLately(store: Store): Promise<boolean> {
  const last = (await store.read.events.ofTypes(['head-witnessed'])).findLast(
    ({ event }) => event.type === 'head-witnessed' && event.token !== null,
  );
  return last !== undefined && store.clock.now().getTime() - Date.parse(last.at) < STAMP_EVERY_MS;
}

async function record(store: Store, event: Witnessed, actor: string): Promise<Witnessed> {
  await store.change(actor, (change) => change.events.add(event));
  return event;
}

async function answerOf(address: string, request: Buffer): Promise<Buffer> {
  const failed = (why: string) => new AppError('STORAGE', `the authority for time stamps at ${address} ${why}`);
  const headers = { 'content-type': 'application/timestamp-query' };
  const answered = await fetch(address, {
    method: 'POST',
    headers,
    body: new Uint8Array(request),
    // Somebody at the machine named this address, and no other.
    redirect: 'error',
    signal: AbortSignal.timeout(ANSWER_MS),
  }).catch((error: Error) => {
    throw failed(`does not answer: ${(error.cause as Error | undefined)?.message ?? error.message}`);
  });
  if (!answered.ok) throw failed(`answers ${answered.status}`);
  const bytes = Buffer.from(await answered.arrayBuffer());
  if (bytes.length > LONGEST_ANSWER) throw failed(`answers ${bytes.length} bytes`);
  return bytes;
}

/**
 * Names the authority that stamps heads from now on, with the certificates to which its own leads.
 * @param address undefined for none any more.
 * @throws BadInputError when the address or the certificates are of no use.
 */
export function configureAuthority(folder: DataFolder, address: string, certificates: string): void {
  if (!/^https?:\/\/\S+$/.test(address) || !URL.canParse(address)) {
    throw unusable('url', address, 'an address that begins with http:// or https://', 'name that of the authority');
  }
  const pem = readCertificates(certificates);
  fs.writeFileSync(folder.timeStampCertificates, pem, { mode: 0o600, flush: true });
  folder.with({ timeStamps: address });
}

export function forgetAuthority(folder: DataFolder): void {
  folder.with({ timeStamps: undefined });
}

function readCertificates(file: string): string {
  try {
    const pem = fs.readFileSync(file, 'utf8');
    if (certificatesIn(pem).length > 0) return pem;
  } catch {}
  const remedy = 'name the file that the authority gives for checking its time stamps';
  throw unusable('--certificates', file, 'a file with certificates in PEM', remedy);
}

const unusable = (field: string, found: string, expected: string, remedy: string): BadInputError =>
  new BadInputError([{ code: 'authority', field, found, expected, remedy }]);

const certificatesIn = (pem: string): X509Certificate[] =>
  (pem.match(/-----BEGIN CERTIFICATE-----[^-]+-----END CERTIFICATE-----/g) ?? []).map(
    (one) => new X509Certificate(one),
  );

/** Undefined where nobody says whom to trust: after the file was lost, say. */
const trustedIn = (folder: DataFolder): X509Certificate[] | undefined =>
  fs.existsSync(folder.timeStampCertificates)
    ? certificatesIn(fs.readFileSync(folder.timeStampCertificates, 'utf8'))
    : undefined;

/** A head that a witness keeps, and that the audit trail that is here did not grow from; or a witness who cannot be asked. */
export interface WitnessFault {
  readonly what: 'witness';
  readonly name: string;
  readonly fault: FolderFault;
}

/**
 * Holds the audit trail against the second place of the anchor and those before it, the largest head in the folder of each witness, and the
 * last time stamp.
 */
export async function witnessFaults(store: Store): Promise<WitnessFault[]> {
  const faults: WitnessFault[] = [];
  const [{ now: named, former }, found] = [await placesNamed(store), store.folder.secondAnchor];
  if (named !== undefined && named !== found) {
    faults.push({ what: 'witness', name: named, fault: { code: 'place gone', facts: { found: found ?? null } } });
  }
  const look = async (name: string, headOf: () => ReadHead | undefined | Promise<ReadHead | undefined>) => {
    try {
      const head = await headOf();
      if (head === undefined) return;
      const size = await store.read.ledger.size();
      const rootThen = head.size <= size ? await store.read.ledger.root(head.size) : undefined;
      const { grownOnly, found } = keptHead(head, await store.proofs.origin(), size, rootThen);
      if (!grownOnly)
        faults.push({
          what: 'witness',
          name,
          fault: { code: 'trail fault', facts: { fault: { code: 'anchored head', facts: { found } } } },
        });
    } catch (error) {
      faults.push({
        what: 'witness',
        name,
        fault: { code: 'not looked at', facts: { message: (error as Error).message } },
      });
    }
  };
  await store.compareElsewhere().catch((error: Error) => {
    const fault = { code: 'not looked at', facts: { message: error.message } } as const;
    faults.push({ what: 'witness', name: store.folder.secondAnchor!, fault });
  });
  const keys = await store.proofs.keys();
  for (const place of former) if (place !== found) await look(place, () => headIn(place, keys));
  for (const folder of store.folder.drops) await look(folder, () => largestIn(folder, keys));
  const stamped = (await store.read.events.ofTypes(['head-witnessed'])).flatMap(({ event }) =>
    event.type === 'head-witnessed' && event.token !== null ? [event] : [],
  );
  const last = stamped.at(-1);
  const origin = await store.proofs.origin();
  if (last) await look(last.by, () => stampedHead(last, origin, store.folder));
  return faults;
}

/** Which second places of the anchor the audit trail names. */
interface PlacesNamed {
  /** Undefined where none was named, or the last one was left. */
  readonly now: string | undefined;
  /** Those in whose stead another one was named: what they hold goes on to count where it can be read. */
  readonly former: readonly string[];
}

/**
 * Two people leave a place, by the same signatures by which they accept the audit trail: the word of the installation does not
 * count. To name another one takes the installation alone, and counts only where it says in whose stead it is: so nothing that
 * a place was ever left with is forgotten.
 */
async function placesNamed({ read }: Store): Promise<PlacesNamed> {
  const known = await read.events.knownKeys();
  let now: string | undefined;
  const former = new Set<string>();
  for (const told of await read.events.ofTypes(['second-place-named', 'anchor-renewed'])) {
    const { event } = told;
    if (event.type === 'second-place-named') {
      const { place, before } = event;
      if (now !== undefined && place !== now && before !== now) continue;
      if (now !== undefined) former.add(now);
      now = place;
    } else if (event.type === 'anchor-renewed' && faultOfAct(told, known) === undefined) {
      // Files are made anew then, and addresses are left: all of them held another audit trail.
      former.clear();
      if (event.leaves === now) now = undefined;
    }
  }
  if (now !== undefined) former.delete(now);
  return { now, former: [...former] };
}

/** The second place of the anchor as the audit trail has it. */
export const placeNamed = async (store: Store): Promise<string | undefined> => (await placesNamed(store)).now;

/** The head that a former second place holds; undefined where it is not there any more. */
async function headIn(place: string, keys: Parameters<typeof readHead>[1]): Promise<ReadHead | undefined> {
  const anchor = AnchorUrl.isAddress(place)
    ? await readIfReached(new AnchorUrl(place))
    : fs.existsSync(place)
      ? new AnchorFile(place).read()
      : undefined;
  return anchor?.head ? readHead(anchor.head, keys) : undefined;
}

/** @throws AppError NOT_FOUND when the folder is not there, or holds no head of this audit trail any more. */
function largestIn(folder: string, keys: Parameters<typeof readHead>[1]): ReadHead {
  if (!fs.existsSync(folder))
    throw new AppError('NOT_FOUND', `${folder} is not there: is the disk of the witness connected?`);
  const own = keys[0]!.name.slice(-16);
  const names = fs.readdirSync(folder).filter((name) => HEAD_FILE.test(name) && name.startsWith(`head-${own}-`));
  const sizeOf = (name: string) => Number(HEAD_FILE.exec(name)![1]);
  const last = names.sort((a, b) => sizeOf(a) - sizeOf(b)).at(-1);
  if (last === undefined) throw new AppError('NOT_FOUND', `${folder} holds no head of this audit trail any more`);
  const line = fs
    .readFileSync(path.join(folder, last), 'utf8')
    .split('\n')
    .find((text) => text.startsWith(`${keys[0]!.name} `));
  return readHead(parseHead(line ?? ''), keys);
}

function stampedHead({ size, root, token }: Witnessed, origin: string, folder: DataFolder): ReadHead {
  const stamped = Buffer.from(token!, 'base64');
  readTimeStamp(stamped, checkpointText({ origin, size, root }), { trusted: trustedIn(folder) });
  return { origin, size, root, signedBy: null, others: [] };
}

import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';
import { hashRaw } from '@node-rs/argon2';
import { BadInputError } from '../base/errors.js';
import type { PasswordLock } from '../ledger/password-lock.js';

export const SHORTEST_PASSWORD = 12;
export const LONGEST_PASSWORD = 128;
/** What must be left of a password without names that everybody knows. */
const OWN_PART = 8;
const FEWEST_CHARACTERS = 5;

/** What deriving from a password costs. */
export type PasswordCost = Pick<PasswordLock, 'memoryKib' | 'passes'>;

/** Argon2id with 64 MiB and three passes: the second setting that RFC 9106 recommends, section 4, with one lane. */
export const PASSWORD_COST: PasswordCost = { memoryKib: 65_536, passes: 3 };

/** Token under which another cost may be given to whatever sets passwords. */
export const COST_OF_PASSWORDS = Symbol('cost of passwords');

/** A lock of the same cost that no password opens: trying it takes as long as trying a real one. */
const NOBODYS_LOCK: PasswordLock = {
  derivation: 'argon2id',
  ...PASSWORD_COST,
  lanes: 1,
  salt: Buffer.alloc(16, 'nobody').toString('base64'),
  check: '0'.repeat(64),
};

/**
 * Bases of passwords that attackers try first, without the digits and signs around them (common practice; the list is
 * our own choice among well-known ones).
 */
const COMMON = new Set(
  [
    'password passwort passw0rd passphrase admin administrator adminadmin root welcome willkommen letmein changeme',
    'changemenow changeit default secret secretpassword geheim temporary temppassword testtest testpassword user',
    'username qwerty qwertyuiop qwertzuiop azertyuiop asdfghjkl asdfasdf qwertyqwerty qazwsx qazwsxedc zaqxsw',
    'iloveyou iloveyouforever sunshine princess football baseball superman batman dragon monkey shadow master',
    'mustang michael jennifer trustno starwars pokemon summer winter spring autumn january february march april',
    'monday friday computer internet samsung google facebook access login hello helloworld whatever freedom',
    'passwordpassword correcthorsebatterystaple thequickbrownfox implant implants medicaldevice titanium magnesium',
  ]
    .join(' ')
    .split(' '),
);

/** What an attacker knows of a person without asking. */
export interface PublicFacts {
  readonly person: string;
  readonly name: string;
}

/**
 * Checks a new password: length, and whether it is easily guessed. No rule asks for kinds of characters
 * (NIST SP 800-63B, 5.1.1.2; OWASP ASVS 4.0, 2.1).
 * @throws BadInputError which never repeats the password.
 */
export function checkPassword(password: string, facts: PublicFacts): void {
  const expected = faultOf(password.normalize('NFKC'), facts);
  if (expected === undefined) return;
  throw new BadInputError([
    { code: 'password', field: 'password', expected, remedy: 'choose another one; several unrelated words do well' },
  ]);
}

function faultOf(password: string, facts: PublicFacts): string | undefined {
  const characters = [...password];
  if (characters.length < SHORTEST_PASSWORD) return `at least ${SHORTEST_PASSWORD} characters`;
  if (characters.length > LONGEST_PASSWORD) return `at most ${LONGEST_PASSWORD} characters`;
  if (new Set(characters).size < FEWEST_CHARACTERS) return 'more than a few characters repeated';
  if (isSequence(characters)) return 'more than a row of digits or letters';
  const plain = password.toLowerCase();
  if (COMMON.has(plain.replaceAll(/[^\p{L}]/gu, '')) || COMMON.has(plain)) return 'no password that many people use';
  if ([...withoutKnownWords(plain, facts)].length < OWN_PART) {
    return `at least ${OWN_PART} characters beside the identifier, the name and the name of this program`;
  }
  return undefined;
}

function withoutKnownWords(plain: string, { person, name }: PublicFacts): string {
  const words = ['lotwright', person, ...name.split(/[^\p{L}]+/u)].map((word) => word.toLowerCase());
  return words.filter((word) => word.length >= 2).reduce((rest, word) => rest.replaceAll(word, ''), plain);
}

/** `123456789012`, `abcdefghijkl`, `987654321098`: every character follows the one before it, up or down. */
function isSequence(characters: readonly string[]): boolean {
  const steps = characters
    .slice(1)
    .map((character, index) => character.codePointAt(0)! - characters[index]!.codePointAt(0)!);
  const isStep = (by: number) => steps.every((step) => step === by || step === -9 * by);
  return isStep(1) || isStep(-1);
}

/** A lock that opens with this password, and the 32 bytes that it gives to whoever opens it. */
export async function lockWith(
  password: string,
  cost: PasswordCost = PASSWORD_COST,
): Promise<{ readonly lock: PasswordLock; readonly secret: Buffer }> {
  const salt = randomBytes(16).toString('base64');
  const open = { derivation: 'argon2id', ...cost, lanes: 1, salt } as const;
  const [proof, secret] = await derived(open, password);
  return { lock: { ...open, check: sha256(proof).toString('hex') }, secret };
}

/**
 * What a password gives for a lock that it opens; undefined for another password, and without a lock, in the same time.
 * Whoever gets the bytes wipes them.
 */
export async function openedWith(lock: PasswordLock | undefined, password: string): Promise<Buffer | undefined> {
  // Nothing longer was ever accepted, and a guess must not cost the service more than a password.
  const tried = password.length > 4 * LONGEST_PASSWORD ? '' : password;
  const [proof, secret] = await derived(lock ?? NOBODYS_LOCK, tried);
  const fits = timingSafeEqual(sha256(proof), Buffer.from((lock ?? NOBODYS_LOCK).check, 'hex'));
  proof.fill(0);
  if (fits && lock !== undefined) return secret;
  secret.fill(0);
  return undefined;
}

/** Equal texts in other Unicode forms are one password. */
async function derived(
  { memoryKib, passes, lanes, salt }: Omit<PasswordLock, 'check'>,
  password: string,
): Promise<[proof: Buffer, secret: Buffer]> {
  const cost = { memoryCost: memoryKib, timeCost: passes, parallelism: lanes };
  // The library takes argon2id by itself.
  const bytes = await hashRaw(password.normalize('NFKC'), {
    ...cost,
    salt: Buffer.from(salt, 'base64'),
    outputLen: 64,
  });
  return [bytes.subarray(0, 32), bytes.subarray(32)];
}

const sha256 = (bytes: Buffer): Buffer => createHash('sha256').update(bytes).digest();

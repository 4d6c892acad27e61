import { hash, verify } from '@node-rs/argon2';
import { BadInputError } from '../base/errors.js';

export const SHORTEST_PASSWORD = 12;
export const LONGEST_PASSWORD = 128;
/** What must be left of a password without names that everybody knows. */
const OWN_PART = 8;
const FEWEST_CHARACTERS = 5;

/**
 * Argon2id with 19 MiB, two passes, one lane: the first setting of the OWASP Password Storage Cheat Sheet. The library
 * takes argon2id and a fresh salt of 16 bytes by itself.
 */
const COST = { memoryCost: 19_456, timeCost: 2, parallelism: 1 };

/** A hash of the same cost that no password fits: comparing with it takes as long as comparing with a real one. */
const NOBODYS_HASH =
  '$argon2id$v=19$m=19456,t=2,p=1$bm9ib2R5J3Mgc2FsdCEhIQ$bm9ib2R5IGhhcyB0aGlzIHBhc3N3b3JkLCBub3QgZXZlbiB3ZQ';

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

/** The hash to store. Equal texts in other Unicode forms are one password. */
export function hashPassword(password: string): Promise<string> {
  return hash(password.normalize('NFKC'), COST);
}

/** Whether a password fits a hash. Without a hash it takes as long and says no. */
export async function fitsPassword(stored: string | undefined, password: string): Promise<boolean> {
  // Nothing longer was ever accepted, and a guess must not cost the service more than a password.
  const tried = password.length > 4 * LONGEST_PASSWORD ? '' : password.normalize('NFKC');
  const fits = await verify(stored ?? NOBODYS_HASH, tried);
  return fits && stored !== undefined;
}

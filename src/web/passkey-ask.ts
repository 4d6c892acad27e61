import { createHash, randomBytes } from 'node:crypto';
import type { Request } from 'express';
import { systemClock } from '../base/clock.js';

/** Fields in which a form brings the number that it was shown with for passkeys, and what each of them gave. */
const NUMBER_FIELD = 'passkey-number';
const GIVEN_FIELD = 'passkey';
/** Not part of what a form says: they are the same for each form of a session, or made for each showing. */
const MARKS: ReadonlySet<string> = new Set([NUMBER_FIELD, GIVEN_FIELD, 'csrf', 'form-number']);

/** A page may stand open as long as a session may be silent. */
const ASKED_MS = 30 * 60_000;
const MOST_ASKED = 5000;

/** Numbers that were given out and not used: of whose session, and until when. They go with the process. */
const asked = new Map<string, { readonly session: string; readonly until: number }>();

/**
 * A number for a form that a passkey is to sign: 256 random bits, base64url, which serve once.
 * @param session SHA-256 of the token of the session, or whatever else the form belongs to.
 */
export function passkeyNumber(session: string): string {
  const number = randomBytes(32).toString('base64url');
  if (asked.size >= MOST_ASKED) asked.delete(asked.keys().next().value!);
  asked.set(number, { session, until: systemClock.now().getTime() + ASKED_MS });
  return number;
}

/** What a request brought of passkeys, beside the fields of its form. */
export class SentPasskeys {
  private taken: Buffer | undefined;

  private constructor(
    private readonly number: string,
    /** As JSON, one for each passkey. */
    readonly given: readonly string[],
    /** All that the form says. */
    private readonly text: string,
    /** Address that it was sent to. */
    readonly form: string,
  ) {}

  /** Takes them out of a body, whose schema knows its own fields only. */
  static takeFrom(request: Request): SentPasskeys | undefined {
    const sent: unknown = request.body;
    if (typeof sent !== 'object' || sent === null || !Object.hasOwn(sent, NUMBER_FIELD)) return undefined;
    const { [NUMBER_FIELD]: number, [GIVEN_FIELD]: given, ...fields } = sent as Record<string, unknown>;
    request.body = fields;
    const form = request.originalUrl.split('?')[0]!;
    const texts = [given ?? []].flat().filter((one) => typeof one === 'string');
    return new SentPasskeys(String(number), texts, formText(form, fields), form);
  }

  /**
   * What the passkeys of this form had to sign: SHA-256 over its number and all that it says. The number serves once; for
   * the request that brought it the challenge stays.
   * @param session to which the number was given.
   * @returns undefined where the number is unknown, used, run out, or of another session.
   */
  challenge(session: string): Buffer | undefined {
    if (this.taken) return this.taken;
    const known = asked.get(this.number);
    asked.delete(this.number);
    if (known?.session !== session || systemClock.now().getTime() > known.until) return undefined;
    this.taken = challengeOf(this.number, this.text);
    return this.taken;
  }
}

/** SHA-256 over the bytes of the number and a text; the script of the pages does the same. */
export const challengeOf = (number: string, text: string): Buffer =>
  createHash('sha256').update(Buffer.from(number, 'base64url')).update(text, 'utf8').digest();

/**
 * All that a form says, in the order of its names: JSON of its address and of each name with its value.
 * @param fields one value, or several of the same name in their order.
 */
export function formText(address: string, fields: Readonly<Record<string, unknown>>): string {
  const names = Object.keys(fields).filter((name) => !MARKS.has(name));
  const said = names.sort().flatMap((name) => [fields[name]].flat().map((value) => [name, plain(value)]));
  return JSON.stringify([address, said]);
}

/** Browsers send ends of lines in another way than they hold them. */
const plain = (value: unknown): unknown => (typeof value === 'string' ? value.replaceAll(/\r\n?/g, '\n') : value);

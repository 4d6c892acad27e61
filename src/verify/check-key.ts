import { BadInputError } from '../base/errors.js';
import type { Facts } from '../dossier/facts.js';
import type { Enclosure } from '../records/enclosure.js';
import { chainIn, statementsOf } from './check-statements.js';
import type { Steps } from './report.js';

/**
 * A fingerprint as a person copied it: with colons, blanks or capitals, as other programs print it.
 * @param option that it was given with.
 * @throws BadInputError when it is no SHA-256.
 */
export function readFingerprint(text: string, option: '--key' | '--people'): string {
  const fingerprint = text.replace(/[\s:]/g, '').toLowerCase();
  if (/^[0-9a-f]{64}$/.test(fingerprint)) return fingerprint;
  throw new BadInputError([
    {
      code: 'no-fingerprint',
      field: option,
      found: text,
      expected: '64 hexadecimal digits, the SHA-256 of a public key',
      remedy: 'copy the whole fingerprint from the installation that you trust',
    },
  ]);
}

/**
 * Compares the key that signed the head of the audit trail with the one that the reader trusts. Everything that is
 * proven to stand under that head rests on it: lot file, assessment, signatures, the certificate of the seal. Statements
 * count under that key and under those before it, each of which vouched for the next one.
 * @param headKey fingerprint of the key that signed the head, when the head holds.
 */
export function checkKey(
  trusted: string | undefined,
  headKey: string | undefined,
  enclosure: Pick<Enclosure, 'keys' | 'signatures'> & { readonly record: Pick<Enclosure['record'], 'draft'> },
  facts: Facts | undefined,
  steps: Steps,
): void {
  const { keys, record } = enclosure;
  if (trusted === undefined) {
    steps.skip('key', { code: 'no key given', facts: { named: keys[0]?.fingerprint ?? null } });
  } else if (headKey === trusted) {
    const others = keysBeside(trusted, enclosure, facts);
    if (others.length === 0) steps.holds('key', { code: 'trusted key' });
    else steps.broken('key', { code: 'keys beside the trusted one', facts: { keys: others } });
  } else if (headKey !== undefined) {
    const isPast = keys.some(({ fingerprint }) => fingerprint === trusted);
    steps.broken('key', { code: 'another key', facts: { key: headKey, isPast } });
  } else if (record.draft && keys.length === 0) {
    steps.skip('key', { code: 'draft without key' });
  } else {
    steps.broken('key', { code: 'nothing bound to a key' });
  }
}

/** Keys of statements that do not lead to the trusted one, each by the word of the one before. */
function keysBeside(
  trusted: string,
  enclosure: Pick<Enclosure, 'keys' | 'signatures'>,
  facts: Facts | undefined,
): string[] {
  const chain = chainIn(enclosure).keys.map(({ fingerprint }) => fingerprint);
  const leading = chain.slice(0, chain.indexOf(trusted) + 1);
  const used = statementsOf(enclosure, facts).map(({ statement }) => statement.installation);
  return [...new Set(used)].filter((fingerprint) => !leading.includes(fingerprint));
}

/**
 * Compares the key from which all keys of people lead with the one that the reader trusts. Whoever has the installation key
 * alone can make a record with people of their own, and with no others.
 */
export function checkPeople(trusted: string | undefined, { people }: Pick<Enclosure, 'people'>, steps: Steps): void {
  const [first] = people;
  if (trusted === undefined || first === undefined) return;
  const { fingerprint, name, person } = first;
  if (fingerprint === trusted) steps.holds('people', { code: 'trusted people' });
  else steps.broken('people', { code: 'other people', facts: { key: fingerprint, name, person } });
}

import { BadInputError } from '../base/errors.js';
import type { Enclosure } from '../records/enclosure.js';
import type { Steps } from './report.js';

/**
 * A fingerprint as a person copied it: with colons, blanks or capitals, as other programs print it.
 * @throws BadInputError when it is no SHA-256.
 */
export function readFingerprint(text: string): string {
  const fingerprint = text.replace(/[\s:]/g, '').toLowerCase();
  if (/^[0-9a-f]{64}$/.test(fingerprint)) return fingerprint;
  throw new BadInputError([
    {
      code: 'no-fingerprint',
      field: '--key',
      found: text,
      expected: '64 hexadecimal digits, the SHA-256 of a public key',
      remedy: 'copy the whole fingerprint from the installation that you trust',
    },
  ]);
}

/**
 * Compares the key that signed the head of the audit trail with the one that the reader trusts. Everything that is
 * proven to stand under that head rests on it: lot file, assessment, signatures, the certificate of the seal.
 * @param headKey fingerprint of the key that signed the head, when the head holds.
 */
export function checkKey(
  trusted: string | undefined,
  headKey: string | undefined,
  { keys, record }: Enclosure,
  steps: Steps,
): void {
  if (trusted === undefined) {
    const named = keys[0] ? ` It names key ${keys[0].fingerprint}: ask those who issued it for theirs.` : '';
    steps.skip(
      'key',
      `none given: the file agrees with itself, and was not compared with a key that you trust.${named}`,
    );
  } else if (headKey === trusted) {
    steps.holds(
      'key',
      'the head of the audit trail is signed by the key that you trust, and what stands under it with it',
    );
  } else if (headKey !== undefined) {
    const past = keys.some(({ fingerprint }) => fingerprint === trusted);
    const why = past
      ? 'the record names the one that you trust as an earlier key; ask for the present one'
      : 'not by yours';
    steps.broken('key', `the head of the audit trail is signed by ${headKey}: ${why}`);
  } else if (record.draft && keys.length === 0) {
    steps.skip('key', 'this draft is bound to no key: there is nothing to compare yours with');
  } else {
    steps.broken('key', 'there is no head of an audit trail that holds, so that nothing is bound to the key you trust');
  }
}

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
    steps.skip('key', { code: 'no key given', facts: { named: keys[0]?.fingerprint ?? null } });
  } else if (headKey === trusted) {
    steps.holds('key', { code: 'trusted key' });
  } else if (headKey !== undefined) {
    const isPast = keys.some(({ fingerprint }) => fingerprint === trusted);
    steps.broken('key', { code: 'another key', facts: { key: headKey, isPast } });
  } else if (record.draft && keys.length === 0) {
    steps.skip('key', { code: 'draft without key' });
  } else {
    steps.broken('key', { code: 'nothing bound to a key' });
  }
}

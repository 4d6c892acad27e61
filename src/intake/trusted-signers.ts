import type { Reads } from '../store/repositories.js';
import type { CalibrationCertificate } from './dcc.js';

/** Whose signature it is, where the cell trusts it. */
interface TrustedSigner {
  readonly supplier: string;
  readonly title: string;
}

/**
 * By whom the cell holds each signature of a certificate to be made: a supplier of which it named the signer's certificate, or
 * the one that issued it. One that had ended before the calibration began signed nothing of it.
 * @returns for each signature in its order; null where nobody named it.
 */
export async function trustedSigners(
  { entries }: Reads,
  { signatures, begins }: Pick<CalibrationCertificate, 'signatures' | 'begins'>,
): Promise<(TrustedSigner | null)[]> {
  if (signatures.length === 0) return [];
  const suppliers = await entries.list('supplier');
  return signatures.map(({ certificateSha256, issuedBySha256, validTo }) => {
    if (validTo.slice(0, 10) < begins) return null;
    const shown = [certificateSha256, ...issuedBySha256];
    const own = suppliers.find(({ body }) => body.signsWith?.some(({ sha256 }) => shown.includes(sha256)));
    return own ? { supplier: own.key, title: own.body.title } : null;
  });
}

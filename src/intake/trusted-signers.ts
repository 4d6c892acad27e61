import type { Reads } from '../store/repositories.js';
import type { CalibrationCertificate } from './dcc.js';

/** As `xs:dateTime`. */
const TIME = /^(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?)(Z|[+-]\d\d:\d\d)?$/;

/** Whose signature it is, where the cell named its signer, and whether the signer's certificate was valid when it was made. */
interface NamedSigner {
  readonly supplier: string;
  readonly title: string;
  /** Unknown where the file does not say when it was signed: one that had ended before the calibration began is invalid then too. */
  readonly validity: 'valid' | 'invalid' | 'unknown';
}

/** Only one whose certificate was not invalid then is trusted. */
export const isTrusted = (signer: NamedSigner | null): signer is NamedSigner =>
  signer !== null && signer.validity !== 'invalid';

/**
 * By whom the cell holds each signature of a certificate to be made: a supplier of which it named the signer's certificate, or
 * the one that issued it.
 * @returns for each signature in its order; null where nobody named it.
 */
export async function namedSigners(
  { entries }: Reads,
  { signatures, begins }: Pick<CalibrationCertificate, 'signatures' | 'begins'>,
): Promise<(NamedSigner | null)[]> {
  if (signatures.length === 0) return [];
  const suppliers = await entries.list('supplier');
  return signatures.map((signature) => {
    const shown = [signature.certificateSha256, ...signature.issuedBySha256];
    const own = suppliers.find(({ body }) => body.signsWith?.some(({ sha256 }) => shown.includes(sha256)));
    return own ? { supplier: own.key, title: own.body.title, validity: validThen(signature, begins) } : null;
  });
}

function validThen(
  { signedAt, validFrom, validTo }: CalibrationCertificate['signatures'][number],
  begins: string,
): NamedSigner['validity'] {
  if (validTo.slice(0, 10) < begins) return 'invalid';
  if (signedAt === null) return 'unknown';
  // A time without its zone is some time within a day, and would be another one on each machine; what is no time is none.
  const [time, zone] = TIME.exec(signedAt)?.slice(1) ?? [];
  if (time === undefined) return 'invalid';
  const [earliest, latest] = (zone === undefined ? ['+14:00', '-14:00'] : [zone, zone]).map((one) =>
    Date.parse(time + one),
  );
  return Date.parse(validFrom) <= earliest! && latest! <= Date.parse(validTo) ? 'valid' : 'invalid';
}

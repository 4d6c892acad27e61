import { timeText } from '../../dossier/time-text.js';
import { counted } from './counted.js';

interface Signature {
  readonly certificateSha256: string;
  readonly subject: string;
  readonly issuer: string;
  readonly validFrom: string;
  readonly validTo: string;
  readonly signedAt: string | null;
}

interface Uncertainty {
  readonly is: 'standard' | 'expanded';
  readonly value: string;
  readonly coverageFactor: string;
}

/** Words of the page of a digital calibration certificate. */
export const CALIBRATION_CERTIFICATE = {
  lead: (laboratory: string, begins: string, ends: string) =>
    `By ${laboratory || 'a laboratory that it does not name'}, ${begins === ends ? `on ${begins}` : `from ${begins} to ${ends}`}. Everything here stands in the file as it was received.`,
  file: 'The file as received',
  of: 'What was calibrated',
  conformity: 'What it states of conforming',
  recalibrateBy: 'Next calibration, as it asks, by',
  version: 'Version of its schema',
  none: 'nothing',
  signatures: 'Signatures',
  unsigned: 'Nobody signed this file: that it comes from the laboratory, people have to make sure in another way.',
  signed: ({ subject, issuer, validFrom, validTo, signedAt }: Signature) =>
    `Signed by ${subject}${signedAt === null ? '' : `, as it says at ${saidTime(signedAt)}`}. The signature holds: nothing was changed since. Its certificate ${issuer === subject ? 'was made by itself' : `was issued by ${issuer}`} and is valid from ${timeText(validFrom)} to ${timeText(validTo)}.`,
  named: ({ title, validity }: { readonly title: string; readonly validity: 'valid' | 'invalid' | 'unknown' }) =>
    ({
      valid: `Trusted: the certificate is named by the document of ${title}, and was valid when it signed.`,
      unknown: `Trusted: the certificate is named by the document of ${title}. The file does not say when it was signed: whether the certificate was valid then is not known.`,
      invalid: `Not trusted: the certificate is named by the document of ${title}, but by what the file says it was not valid when it signed. Ask them for one that is signed anew.`,
    })[validity],
  untrusted: (sha256: string) =>
    `Not trusted yet: no document of a supplier names this certificate. Whoever made sure that it is theirs names it there under signsWith: ${sha256}.`,
  values: (count: number) => counted(count, 'value'),
  heads: {
    result: 'Result',
    quantity: 'Quantity',
    place: 'Place',
    value: 'Value',
    unit: 'Unit',
    uncertainty: 'Uncertainty',
    line: 'Line',
  },
  uncertainty: (told: Uncertainty | null, otherForm: string | null) =>
    told === null
      ? otherForm === null
        ? 'none stated'
        : `stated in a form that is not read (${otherForm}): see the file`
      : told.is === 'standard'
        ? `${told.value}, standard`
        : `${told.value}, expanded (k = ${told.coverageFactor})`,
  link: 'its values',
};

/** A time with its offset as all times are told; anything else as it stands there. */
const saidTime = (text: string): string =>
  /^\d{4}-\d\d-\d\dT[\d:.]+(?:Z|[+-]\d\d:\d\d)$/.test(text) && !Number.isNaN(Date.parse(text))
    ? timeText(new Date(text).toISOString())
    : text;

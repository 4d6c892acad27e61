import { z } from 'zod';
import { BadInputError } from '../base/errors.js';
import { all, type DccNode, demanded, nameOf, type Refuse, textOf, treeOf } from './dcc-tree.js';
import { CertifiedReading, readingsOfResult } from './dcc-values.js';
import { SignatureFault, verifyXmlSignatures } from './xml-signature.js';

/** A signature over a certificate, which holds. Whether its signer is trusted is no fact of the file. */
const CertificateSignature = z.strictObject({
  certificateSha256: z.string().describe('SHA-256 of the certificate (X.509) whose key made it'),
  subject: z.string(),
  issuer: z.string(),
  validFrom: z.string(),
  validTo: z.string(),
  issuedBySha256: z.array(z.string()).describe('of the certificates beside it that issued it, the nearest first'),
  signedAt: z.string().nullable().describe('as the signer says under the signature; null where it does not'),
});

/** A digital calibration certificate, as far as it is read. */
export const CalibrationCertificate = z.strictObject({
  version: z.string(),
  identifier: z.string(),
  begins: z.string().describe('first day of the calibration'),
  ends: z.string(),
  laboratory: z.string(),
  identifications: z.array(z.string()).describe('numbers by which it knows what was calibrated, whoever gave them'),
  conformity: z.array(z.string()).describe('what its statements say of conforming, in their order'),
  recalibrateBy: z.string().nullable().describe('the earliest day by which it wants the next calibration'),
  signatures: z.array(CertificateSignature).describe('that hold, each over all of it; none where nobody signed it'),
  readings: z.array(CertifiedReading),
});
export type CalibrationCertificate = z.infer<typeof CalibrationCertificate>;

const VERSION = /^(?:2\.[34]|3\.[0-4])\.\d+(?:-[\w.]+)?$/;
const DAY = /^\d{4}-\d\d-\d\d$/;
/** So much of a file tells whether it is one. */
export const DCC_HEAD = 4096;

/** Whether the beginning of a file is that of a digital calibration certificate. */
export const isDcc = (bytes: Buffer): boolean =>
  /<(?:\w+:)?digitalCalibrationCertificate[\s>]/.test(bytes.toString('utf8', 0, DCC_HEAD));

/**
 * Reads a digital calibration certificate (DCC of the Physikalisch-Technische Bundesanstalt, versions 2.3 to 3.4, with values
 * by D-SI), and verifies its signatures, where it has any.
 * @throws BadInputError with the line for what is none or no well-formed XML, for what each has to say and this does not, for
 *   lists of different lengths, for what stands twice where one is read, for two forms of one value that differ, and for a signature that does not hold.
 */
export function readDcc(file: string, bytes: Uint8Array): CalibrationCertificate {
  const remedy = 'ask the laboratory for a certificate as its schema has it, or attach its PDF';
  const refuse = (line: number, found: string, expected: string): never => {
    throw new BadInputError([{ code: 'dcc', file, line, found, expected, remedy }]);
  };
  const { root, signatureLine } = treeOf(bytes, refuse);
  const told = toldIn(root, refuse);
  if (signatureLine === null) return { ...told, signatures: [] };
  const distrust = (found: string, expected: string): never => {
    const again = 'ask the laboratory for the certificate as it signed it: this one is not to be relied on';
    throw new BadInputError([{ code: 'dcc-signature', file, line: signatureLine, found, expected, remedy: again }]);
  };
  try {
    const signatures = verifyXmlSignatures(utf8Of(bytes)).map(({ signed, ...signature }) => {
      // Two readers of XML may see two documents in one file: what was signed has to say what is read here.
      const other = toldIn(treeOf(Buffer.from(signed), refuse).root, refuse);
      if (withoutLines(other) !== withoutLines(told)) distrust('other values than those that were signed', 'the same');
      return signature;
    });
    return { ...told, signatures };
  } catch (error) {
    if (error instanceof SignatureFault) return distrust(error.found, error.expected);
    throw error;
  }
}

const utf8Of = (bytes: Uint8Array): string => new TextDecoder('utf-8', { fatal: true }).decode(bytes);

const withoutLines = (told: Told): string =>
  JSON.stringify({ ...told, readings: told.readings.map(({ line: _, ...reading }) => reading) });

type Told = Omit<CalibrationCertificate, 'signatures'>;

function toldIn(root: DccNode, refuse: Refuse): Told {
  const said = (node: DccNode) => textOf(refuse, node);
  const day = (node: DccNode) =>
    DAY.test(said(node)) ? said(node) : refuse(node.line, said(node) || 'nothing', 'a day as YYYY-MM-DD');

  const version = root.attributes.schemaVersion ?? '';
  if (!VERSION.test(version)) refuse(root.line, `schemaVersion "${version}"`, 'a version from 2.3 to 3.4');
  const data = demanded(refuse, root, 'administrativeData');
  const core = demanded(refuse, data, 'coreData');
  const items = all(data, 'items', 'item');
  if (items.length === 0) refuse(data.line, 'no item', 'what was calibrated');
  const statements = all(data, 'statements', 'statement');
  return {
    version,
    identifier: said(demanded(refuse, core, 'uniqueIdentifier')),
    begins: day(demanded(refuse, core, 'beginPerformanceDate')),
    ends: day(demanded(refuse, core, 'endPerformanceDate')),
    laboratory: nameOf(refuse, demanded(refuse, data, 'calibrationLaboratory', 'contact')),
    identifications: items.flatMap((item) => all(item, 'identifications', 'identification', 'value').map(said)),
    conformity: statements.flatMap((one) => all(one, 'conformity').map(said)).filter((one) => one !== ''),
    recalibrateBy:
      statements
        .filter(({ attributes }) => /recalibration/i.test(attributes.refType ?? ''))
        .flatMap((one) => all(one, 'date').map(day))
        .sort()[0] ?? null,
    readings: all(root, 'measurementResults', 'measurementResult', 'results', 'result').flatMap((result) =>
      readingsOfResult(result, refuse),
    ),
  };
}

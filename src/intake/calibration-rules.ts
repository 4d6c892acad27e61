import fs from 'node:fs';
import { BadInputError, type Problem } from '../base/errors.js';
import type { Instrument } from '../kinds/instrument.js';
import type { NamedFile } from '../kinds/kind.js';
import { type CalibrationCertificate, DCC_HEAD, isDcc } from './dcc.js';
import { readDccFile } from './dcc-in-worker.js';
import { bodyIf } from './known.js';
import type { ReadDocument } from './yaml-document.js';

interface FoundCertificate {
  readonly name: string;
  readonly path: string;
  readonly field: string;
  readonly use: NamedFile['name'];
}

/** Values of the schema (conformityStatementStatusType, from memory) by which what was calibrated does not conform. */
const FAILED: ReadonlySet<string> = new Set(['fail', 'conditionalFail', 'noPass']);

/**
 * What an instrument says of a calibration otherwise than its digital certificate does. Other certificates, such as papers,
 * are read by people. Signatures are verified in a worker thread: one after the other, while the service answers.
 */
export async function certificateProblems(
  document: ReadDocument,
  files: readonly FoundCertificate[],
): Promise<Problem[]> {
  const instrument = bodyIf('instrument', document);
  if (!instrument) return [];
  const problems: Problem[] = [];
  for (const file of files) {
    const { use, path, name, field } = file;
    const calibration = instrument.calibrations[Number(/^calibrations\[(\d+)\]\.file$/.exec(field)?.[1])];
    if (use !== 'certificate' || calibration === undefined || !isDcc(beginningOf(path))) continue;
    try {
      const certificate = await readDccFile({ name, path });
      problems.push(...differences(document, instrument, calibration, certificate, file));
    } catch (error) {
      if (!(error instanceof BadInputError)) throw error;
      problems.push(...error.problems);
    }
  }
  return problems;
}

function differences(
  document: ReadDocument,
  instrument: Instrument,
  calibration: Instrument['calibrations'][number],
  certificate: CalibrationCertificate,
  { field, name }: FoundCertificate,
): Problem[] {
  const { identifier, begins: from, ends, identifications, conformity, recalibrateBy } = certificate;
  const { instrument: code, serialNumber } = instrument;
  const owns = identifications.some((one) => one === code || one === serialNumber);
  const of = field.replace(/file$/, '');
  const told = (at: string, found: string, expected: string): Problem => ({
    ...{ code: 'certificate-differs', file: document.file, line: document.lineOf(at), field: at, found },
    ...{
      expected: `${expected}, as ${name} says`,
      remedy: 'correct it, or attach the certificate of this calibration',
    },
  });
  const day = calibration.at.slice(0, 10);
  return [
    ...(calibration.certificate === identifier ? [] : [told(`${of}certificate`, calibration.certificate, identifier)]),
    ...(day >= from && day <= ends
      ? []
      : [told(`${of}at`, day, from === ends ? from : `a day from ${from} to ${ends}`)]),
    ...(owns
      ? []
      : [
          told(
            `${of}file`,
            `${code}${serialNumber === undefined ? '' : `, ${serialNumber}`}`,
            identifications.join(' or ') || 'no number',
          ),
        ]),
    ...(recalibrateBy === null || calibration.due.slice(0, 10) <= recalibrateBy
      ? []
      : [told(`${of}due`, calibration.due.slice(0, 10), `${recalibrateBy} at the latest`)]),
    ...(calibration.asLeft === 'in tolerance'
      ? conformity
          .filter((one) => FAILED.has(one))
          .slice(0, 1)
          .map((one) => told(`${of}asLeft`, calibration.asLeft, `out of tolerance (${one})`))
      : []),
  ];
}

function beginningOf(path: string): Buffer {
  const handle = fs.openSync(path, 'r');
  try {
    const bytes = Buffer.alloc(Math.min(DCC_HEAD, fs.fstatSync(handle).size));
    return bytes.subarray(0, fs.readSync(handle, bytes));
  } finally {
    fs.closeSync(handle);
  }
}

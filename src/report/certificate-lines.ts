import { compareWithLimits } from '../assessment/limits.js';
import { signedOn } from '../assessment/signed.js';
import { convert } from '../base/units.js';
import type { Facts } from '../dossier/facts.js';
import { readReported } from '../dossier/reported-value.js';
import { certificateSubject } from '../dossier/signable.js';
import { tradeUnit } from '../dossier/unit-text.js';
import type { Receipt } from '../kinds/receipt.js';
import { CERTIFICATE_LINE, type LineOutcome, lineOutcomeText } from './phrases/certificate-lines.js';
import { limitsText } from './phrases/limits.js';
import { checkerText } from './phrases/signatures.js';

/** One line of a certificate against the specification. Properties that the specification asks for and the certificate lacks stand last. */
export interface CertificateComparison {
  readonly property: string;
  readonly certified: string;
  readonly ucum: string;
  readonly limit: string;
  readonly outcome: LineOutcome;
  readonly says: string;
}

export function certificateLines(facts: Facts, receipt: Receipt): CertificateComparison[] {
  const lines = receipt.certificate?.lines;
  if (!lines) return [];
  const limits = facts.specification.body.materials.filter((limit) => limit.material === receipt.material);
  const asked = limits.map((limit) => limit.property);
  const stated = lines.map((line) => line.property);
  return [...stated, ...asked.filter((name) => !stated.includes(name))].map((property) => {
    const line = lines.find((item) => item.property === property);
    const limit = limits.find((item) => item.property === property);
    const outcome = outcomeOf(line, limit);
    return {
      property,
      certified: line?.value ?? CERTIFICATE_LINE.notStated,
      ucum: line?.ucum ?? '',
      limit: limit ? `${limitsText(limit)} ${tradeUnit(limit.ucum)}` : CERTIFICATE_LINE.noLimit,
      outcome,
      says: lineOutcomeText(outcome),
    };
  });
}

/** Who compared a transcribed certificate with its paper: by signature, else as the file claims. */
export const checkersOf = (facts: Facts, receipt: Receipt): string =>
  checkerText(signedOn(facts, certificateSubject(receipt), 'checked'), receipt.certificate?.checkedBy, 'names');

type Line = NonNullable<Receipt['certificate']>['lines'][number];

function outcomeOf(
  line: Line | undefined,
  limit: Facts['specification']['body']['materials'][number] | undefined,
): LineOutcome {
  if (!line) return 'missing';
  if (!limit) return 'for information';
  const value = readReported(line.value);
  return compareWithLimits({ ...value, number: convert(value.number, line.ucum, limit.ucum) }, limit);
}

import { type AskedLine, askedOfReceipt, inLimitUnit, standingOfLine, worstOf } from '../assessment/material-lines.js';
import { signedOn } from '../assessment/signed.js';
import type { Facts } from '../dossier/facts.js';
import { certificateSubject } from '../dossier/signable.js';
import { spacedUnit } from '../dossier/unit-text.js';
import type { Receipt } from '../kinds/receipt.js';
import { CERTIFICATE_LINE, type LineOutcome, lineOutcomeText } from './phrases/certificate-lines.js';
import { limitsText } from './phrases/limits.js';
import { checkerText } from './phrases/signatures.js';

/** One line of a certificate against what is asked. Properties that are asked for and that the certificate lacks stand last. */
export interface CertificateComparison {
  readonly property: string;
  /** As the certificate has it, and in the unit of the limit where that is another one. */
  readonly certified: string;
  readonly ucum: string;
  readonly inUnitOfLimit: string;
  readonly limit: string;
  readonly outcome: LineOutcome;
  readonly says: string;
}

export function certificateLines(facts: Facts, receipt: Receipt): CertificateComparison[] {
  const lines = receipt.certificate?.lines;
  if (!lines) return [];
  const asked = askedOfReceipt(facts, receipt).filter(({ from }) => from === 'certificate');
  const properties = new Set([...lines, ...asked].map(({ property }) => property));
  return [...properties].map((property) => {
    const line = lines.find((item) => item.property === property);
    const limits = asked.filter((item) => item.property === property);
    const outcome = outcomeOf(line, limits, receipt.category);
    return {
      property,
      certified: line?.value ?? CERTIFICATE_LINE.notStated,
      ucum: line?.ucum ?? '',
      inUnitOfLimit: line ? convertedText(line, limits) : '',
      limit: limits.length === 0 ? CERTIFICATE_LINE.noLimit : [...new Set(limits.map(limitText))].join('; '),
      outcome,
      says: lineOutcomeText(outcome),
    };
  });
}

/** Who compared a transcribed certificate with its paper: by signature, else as the file claims. */
export const checkersOf = (facts: Facts, receipt: Receipt): string =>
  checkerText(signedOn(facts, certificateSubject(receipt), 'checked'), receipt.certificate?.checkedBy, 'names');

type Line = NonNullable<Receipt['certificate']>['lines'][number];

const isLimited = ({ lower, upper }: AskedLine): boolean => lower !== undefined || upper !== undefined;

const limitText = (limit: AskedLine): string =>
  isLimited(limit) ? `${limitsText(limit)}${spacedUnit(limit.ucum)}` : CERTIFICATE_LINE.asked;

/** The value in the unit of the first limit that has another one. */
function convertedText(line: Line, limits: readonly AskedLine[]): string {
  const other = limits.find((limit) => isLimited(limit) && limit.ucum !== line.ucum);
  const value = other && inLimitUnit(line, other);
  return value ? `${value.qualifier}${value.number}${spacedUnit(other.ucum)}` : '';
}

/** The worst that it comes to, where two specifications limit it. */
function outcomeOf(line: Line | undefined, limits: readonly AskedLine[], category: Receipt['category']): LineOutcome {
  if (!line) return 'missing';
  const standings = limits.filter(isLimited).map((limit) => standingOfLine(line, limit, category));
  return worstOf(standings) ?? 'for information';
}

import fs from 'node:fs';
import { CapabilityStatement, statedAgain } from '../assessment/family/statement.js';
import { parseForm } from '../base/later-form.js';
import { programName } from '../base/settings.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { type Difference, firstDifference } from './first-difference.js';

export interface StatementReport {
  readonly statement: Pick<CapabilityStatement, 'number' | 'program'> & {
    readonly family: string;
    readonly characteristic: string;
  };
  readonly sha256: string;
  /** Digest of the statement before, as it names it. */
  readonly previous: string | null;
  readonly answer: 'holds' | 'altered' | 'another version';
  /** The first place at which it says something else than comes of it; null for a file in another form. */
  readonly difference: Difference | null;
}

/** A capability statement begins as JSON does, where a record begins as a PDF. */
export function isStatement(file: string): boolean {
  if (!fs.existsSync(file) || !fs.statSync(file).isFile()) return false;
  const handle = fs.openSync(file, 'r');
  try {
    const first = Buffer.alloc(1);
    return fs.readSync(handle, first, 0, 1, 0) === 1 && first.toString() === '{';
  } finally {
    fs.closeSync(handle);
  }
}

/**
 * Computes a capability statement again from nothing but its file.
 * @throws ZodError or SyntaxError for a file that is none; LaterFormError for one of a later version.
 */
export const verifyStatement = (file: string): StatementReport => computedAgain(fs.readFileSync(file, 'utf8'));

/** The same of its text. */
export function computedAgain(text: string): StatementReport {
  const attached: unknown = JSON.parse(text);
  const known = parseForm('capability statement', CapabilityStatement, attached);
  const { family, characteristic } = known.input;
  const report = {
    statement: {
      number: known.number,
      program: known.program,
      ...{ family, characteristic: characteristic.characteristic },
    },
    sha256: sha256Hex(text),
    previous: known.previous,
  };
  if (canonicalJson(attached) !== text) return { ...report, answer: 'altered', difference: null };
  const again = JSON.parse(canonicalJson(statedAgain(known))) as unknown;
  const difference = firstDifference(attached, again) ?? null;
  if (difference === null) return { ...report, answer: 'holds', difference };
  return { ...report, answer: known.program === programName() ? 'altered' : 'another version', difference };
}

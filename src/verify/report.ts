import {
  type NamedStep,
  stepText,
  type VerifyFinding,
  type VerifyStepCode,
  verifyText,
} from '../report/phrases/verify.js';

/** One thing that was looked at, and how it stands: codes and facts. */
export type VerifyStep = NamedStep & VerifyFinding & Outcome;

interface Outcome {
  /**
   * `differs`: honest, but this version of the program comes to something else. `not known`: a later version made it, and
   * this one cannot read it.
   */
  readonly outcome: 'holds' | 'does not hold' | 'differs' | 'not known' | 'not checked';
}

export interface VerifyReport {
  readonly file: string;
  /** unaltered; altered; or honest, but this version of the program assesses differently, or is too old to read all of it. */
  readonly verdict: 'unaltered' | 'altered' | 'assesses differently' | 'of a later version';
  readonly record: { readonly number: string; readonly revision: number } | null;
  readonly units: { readonly serial: string; readonly verdict: string; readonly now?: string }[];
  readonly steps: VerifyStep[];
}

export interface VerifyOptions {
  /** Fingerprint of the installation key that the reader trusts: SHA-256, 64 hexadecimal digits. */
  readonly key?: string | undefined;
  /** Folder with evidence files: their hashes are compared and the logs are scanned again. */
  readonly evidence?: string | undefined;
  /** An earlier record of the lot: this record proves that the audit trail of that one only grew. */
  readonly with?: string | undefined;
}

/** The steps of one verification in the order in which they were made. */
export class Steps {
  readonly list: VerifyStep[] = [];

  holds(step: VerifyStepCode | NamedStep, finding: VerifyFinding): void {
    this.add(step, 'holds', finding);
  }

  skip(step: VerifyStepCode, finding: VerifyFinding): void {
    this.add(step, 'not checked', finding);
  }

  broken(step: VerifyStepCode | NamedStep, finding: VerifyFinding): undefined {
    this.add(step, 'does not hold', finding);
    return undefined;
  }

  differs(step: VerifyStepCode | NamedStep, finding: VerifyFinding): void {
    this.add(step, 'differs', finding);
  }

  notKnown(step: VerifyStepCode, finding: VerifyFinding): undefined {
    this.add(step, 'not known', finding);
    return undefined;
  }

  private add(step: VerifyStepCode | NamedStep, outcome: Outcome['outcome'], finding: VerifyFinding): void {
    this.list.push({ ...(typeof step === 'string' ? { step } : step), outcome, ...finding });
  }

  get verdict(): VerifyReport['verdict'] {
    const some = (outcome: VerifyStep['outcome']) => this.list.some((step) => step.outcome === outcome);
    if (some('does not hold')) return 'altered';
    if (some('not known')) return 'of a later version';
    return some('differs') ? 'assesses differently' : 'unaltered';
  }
}

/** A report with the words of each step beside its codes and facts: what the command prints, for people and for programs. */
export const reportInWords = ({ steps, ...report }: VerifyReport) => ({
  ...report,
  steps: steps.map((step) => ({ ...step, step: stepText(step), says: verifyText(step) })),
});

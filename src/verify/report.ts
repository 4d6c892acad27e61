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
  /** `differs`: honest, but this version of the program comes to something else. */
  readonly outcome: 'holds' | 'does not hold' | 'differs' | 'not checked';
}

export interface VerifyReport {
  readonly file: string;
  /** unaltered; altered; or honest, but this version of the program assesses differently. */
  readonly verdict: 'unaltered' | 'altered' | 'assesses differently';
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

  private add(step: VerifyStepCode | NamedStep, outcome: Outcome['outcome'], finding: VerifyFinding): void {
    this.list.push({ ...(typeof step === 'string' ? { step } : step), outcome, ...finding });
  }

  get verdict(): VerifyReport['verdict'] {
    const some = (outcome: VerifyStep['outcome']) => this.list.some((step) => step.outcome === outcome);
    return some('does not hold') ? 'altered' : some('differs') ? 'assesses differently' : 'unaltered';
  }
}

/** A report with the words of each step beside its codes and facts: what the command prints, for people and for programs. */
export const reportInWords = ({ steps, ...report }: VerifyReport) => ({
  ...report,
  steps: steps.map((step) => ({ ...step, step: stepText(step), says: verifyText(step) })),
});

import type { ReleaseStep } from '../dossier/release-step.js';
import type { Meaning } from '../dossier/statement.js';
import type { LiesOver } from '../report/phrases/decision.js';
import {
  type NamedStep,
  stepText,
  type VerifyFinding,
  type VerifyStepCode,
  verifyText,
} from '../report/phrases/verify.js';
import { type Answer, answerOf } from './answer.js';
import type { Outcome, VerifyStep } from './step.js';

export interface VerifyReport {
  readonly file: string;
  readonly answer: Answer;
  readonly record: {
    readonly number: string;
    readonly revision: number;
    readonly draft: boolean;
    readonly final: boolean;
  } | null;
  /** Of the paper of a capability statement, which tells of no unit. */
  readonly statement?: VerifiedStatement;
  /** Of a signed answer, which is no record of a lot: what stands in its head, and as of which entry it was given. */
  readonly paper?: { readonly number: string; readonly entries: number } | undefined;
  readonly units: VerifiedUnit[];
  readonly steps: VerifyStep[];
}

export interface VerifiedStatement {
  readonly family: string;
  readonly characteristic: string;
  readonly number: number;
  /** Quality has not reviewed it. */
  readonly draft: boolean;
  /** What came to be known of it until the paper was printed, in words. */
  readonly since: readonly string[];
}

interface DecidedAs {
  readonly meaning: Meaning;
  /** Of a release. */
  readonly step: ReleaseStep | null;
  readonly by: string;
  readonly at: string;
}

/** An implant with what the record says of it: the verdict of the program and what people decided. */
export interface VerifiedUnit {
  readonly serial: string;
  readonly verdict: string;
  /** Where this version comes to another verdict. */
  readonly now?: string;
  /** The signed statement that decided it last, null while none does. */
  readonly decision: DecidedAs | null;
  /** Steps for which it is released as it stands. */
  readonly releasedFor: readonly ReleaseStep[];
  /** What lies over the decision: a hold, a revocation, another verdict since. */
  readonly over: readonly LiesOver[];
}

export interface VerifyOptions {
  /** Fingerprint of the installation key that the reader trusts: SHA-256, 64 hexadecimal digits. */
  readonly key?: string | undefined;
  /** Fingerprint of the key of the first administrator, as the reader knows it. */
  readonly people?: string | undefined;
  /** Folder with evidence files: their hashes are compared and the logs are scanned again. */
  readonly evidence?: string | undefined;
  /** An earlier record of the lot: this record proves that the audit trail of that one only grew. */
  readonly with?: string | undefined;
  /** A copy of the anchor of the installation: its first key and its head. */
  readonly anchor?: string | undefined;
  /** Certificates of the authority for time stamps that the reader trusts. */
  readonly authority?: string | undefined;
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

  private add(step: VerifyStepCode | NamedStep, outcome: Outcome, finding: VerifyFinding): void {
    this.list.push({ ...(typeof step === 'string' ? { step } : step), outcome, ...finding });
  }

  get answer(): Answer {
    return answerOf(this.list);
  }
}

/** A report with the words of each step beside its codes and facts: what the command prints, for people and for programs. */
export const reportInWords = ({ steps, ...report }: VerifyReport) => ({
  ...report,
  steps: steps.map((step) => ({ ...step, step: stepText(step), says: verifyText(step) })),
});

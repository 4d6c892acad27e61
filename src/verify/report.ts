/** One thing that was looked at, and how it stands, in words. */
export interface VerifyStep {
  readonly step: string;
  /** `differs`: honest, but this version of the program comes to something else. */
  readonly outcome: 'holds' | 'does not hold' | 'differs' | 'not checked';
  readonly says: string;
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

  holds(step: string, says: string): void {
    this.list.push({ step, outcome: 'holds', says });
  }

  skip(step: string, says: string): void {
    this.list.push({ step, outcome: 'not checked', says });
  }

  broken(step: string, says: string): undefined {
    this.list.push({ step, outcome: 'does not hold', says });
    return undefined;
  }

  differs(step: string, says: string): void {
    this.list.push({ step, outcome: 'differs', says });
  }

  get verdict(): VerifyReport['verdict'] {
    const some = (outcome: VerifyStep['outcome']) => this.list.some((step) => step.outcome === outcome);
    return some('does not hold') ? 'altered' : some('differs') ? 'assesses differently' : 'unaltered';
  }
}

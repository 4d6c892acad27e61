import type { FindingDraft } from '../findings.js';
import { type Rejection, Rejections } from '../rejection.js';
import type { RowAccount } from '../row-account.js';
import type { SourceSink } from './row-source.js';

/** What is no row of any file. Files are opened before there is an account of rows, so the first notes wait for it. */
export class Notes implements SourceSink {
  account: RowAccount | null = null;
  readonly rejections = new Rejections();
  private readonly byFile = new Map<string, number>();
  private readonly waiting: ((account: RowAccount) => void)[] = [];

  /** @param hasLines false when there are several files: their rows have no common count of lines. */
  constructor(private readonly hasLines: boolean) {}

  /** A line that its file cannot be read by. */
  refuse(rejection: Rejection): void {
    this.count(rejection);
    const line = this.hasLines ? rejection.line : 0;
    this.tell((account) => account.skip({ ...rejection, line }));
  }

  note(draft: FindingDraft): void {
    const lines = this.hasLines ? {} : { lineFrom: null, lineTo: null };
    this.tell((account) => account.note({ ...draft, ...lines }));
  }

  /** Counts a row that the account itself has refused. */
  count(rejection: Rejection): void {
    this.rejections.add(rejection);
    const file = rejection.file ?? '';
    this.byFile.set(file, this.rejectedIn(file) + 1);
  }

  rejectedIn(file: string): number {
    return this.byFile.get(file) ?? 0;
  }

  begin(account: RowAccount): void {
    this.account = account;
    for (const work of this.waiting) work(account);
  }

  private tell(work: (account: RowAccount) => void): void {
    if (this.account === null) this.waiting.push(work);
    else work(this.account);
  }
}

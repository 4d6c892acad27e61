import { commonFields } from '../kinds/common-fields.js';
import { covers, type Statement } from './statement.js';

/** What people did with one revision of a document. */
export interface ApprovalStanding {
  /** Codes of those who signed it as performed. */
  readonly authors: readonly string[];
  /** Who approved it, by signature or by a signed original; null while nobody did. */
  readonly approvedBy: string | null;
  /** When they did. */
  readonly approvedAt: string | null;
}

/**
 * Who signed a revision as its author, and who approved it: by signature, or by a signed original from elsewhere.
 * @param statements in the order of signing; those on other things count for nothing.
 */
export function approvalStanding(
  { digest, body }: { readonly digest: string; readonly body: unknown },
  statements: readonly Statement[],
): ApprovalStanding {
  const on = statements.filter((statement) => covers(statement, digest));
  const of = (meaning: string) => on.filter((statement) => statement.meaning === meaning);
  const [approved] = of('approved');
  const claimed = commonFields(body).approval;
  const elsewhere = claimed?.original === undefined ? undefined : claimed;
  return {
    authors: [...new Set(of('performed').map(({ person }) => person.code))].sort(),
    approvedBy: approved?.person.code ?? elsewhere?.by ?? null,
    approvedAt: approved?.at ?? elsewhere?.at ?? null,
  };
}

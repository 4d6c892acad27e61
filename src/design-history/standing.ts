import { covers, type Statement } from '../dossier/statement.js';
import { commonFields } from '../kinds/common-fields.js';
import type { DesignRevision } from './design-facts.js';

export type Standing = Pick<DesignRevision, 'authors' | 'approvedBy' | 'approvedAt'>;

/**
 * Who signed a revision as its author, and who approved it: by signature, or by a signed original from elsewhere.
 * @param statements in the order of signing; those on other things count for nothing.
 */
export function standingOf(
  { digest, body }: Pick<DesignRevision, 'digest' | 'body'>,
  statements: readonly Statement[],
): Standing {
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

import { FOR_CASE } from '../kinds/lot-links.js';
import type { Prisma } from './generated/client.js';
import { LATEST_TIED_TO, type RevisionFields } from './sql/revisions.js';

/** An implant with the lot that declares it. */
export interface CaseUnit {
  readonly serial: string;
  readonly lot: string;
}

/** Every implant that was made for a case, of whatever lot, in the order of the serials. */
export async function unitsOfCaseIn(
  rows: Pick<Prisma.TransactionClient, '$queryRawUnsafe'>,
  code: string,
): Promise<CaseUnit[]> {
  const found = await rows.$queryRawUnsafe<RevisionFields[]>(LATEST_TIED_TO, 'case', code, FOR_CASE);
  return found.map(({ key, body }) => ({ serial: key, lot: (JSON.parse(body) as { lot: string }).lot }));
}

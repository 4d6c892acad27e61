import { z } from 'zod';
import { noFormula, writeCsv } from '../dossier/csv.js';
import { RESULT_TABLE, type ResultRow } from '../dossier/tables.js';
import { currentLot, resultsOf } from '../store/lots-now.js';
import type { Reads } from '../store/repositories.js';

/** Every value of the parts of a lot, as command, page and API give it to other programs. */
export const ResultsAnswer = z.strictObject({
  lot: z.string(),
  head: z
    .strictObject({ size: z.int().nonnegative(), root: z.string() })
    .describe('the audit trail of which this is told: how many entries, and their root'),
  results: z
    .array(
      z.strictObject({
        specimen: z.string().describe('serial of an implant, or code of a coupon'),
        piece: z.string().describe('piece of a coupon that was cut up, else empty'),
        characteristic: z.string(),
        replicate: z.string(),
        value: z.string().describe('in the unit of the specification, with < or > where it was so reported'),
        ucum: z.string().describe('that unit, as a code of UCUM'),
        reportedValue: z.string().describe('as the sheet has it'),
        reportedUcum: z.string(),
        standardUncertainty: z.string().describe('in the unit of the specification; empty where none was given'),
        startedAt: z.string().describe('of a test that lasts; empty where the sheet does not say'),
        measuredAt: z.string(),
        recordedAt: z.string(),
        instrument: z.string(),
        analyst: z.string(),
        method: z.string(),
        methodRevision: z.string(),
        enteredBy: z.string().describe('who typed it; empty where an instrument or a file gave it'),
        checkedBy: z.string(),
        file: z.string(),
        evidence: z.string().describe('SHA-256 of that file'),
        line: z.string(),
        status: z.string().describe('current, or corrected where a later row took its place'),
        reason: z.string().describe('why this row took the place of an earlier one'),
      } satisfies Record<keyof ResultRow, z.ZodType>),
    )
    .describe('in the order of recording'),
});
export type ResultsAnswer = z.infer<typeof ResultsAnswer>;

/** @throws NotFoundError when there is no such lot. */
export async function resultsAnswer(read: Reads, code: string): Promise<ResultsAnswer> {
  const lot = await currentLot(read, code);
  const before = await read.ledger.size();
  const { rows, ledgerSeq } = await resultsOf(read, lot);
  // What was recorded meanwhile may be among them.
  const size = Math.max(before, ledgerSeq);
  return { lot: code, head: { size, root: await read.ledger.root(size) }, results: rows };
}

/** The same as a table; a text that a spreadsheet would take for a formula begins with an apostrophe. */
export function resultsCsv({ results }: Pick<ResultsAnswer, 'results'>): string {
  const columns = RESULT_TABLE.columns();
  return writeCsv(
    columns,
    results.map((row) => columns.map((name) => noFormula(row[name]))),
  );
}

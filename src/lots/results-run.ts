import type { INestApplicationContext } from '@nestjs/common';
import { type Output, table } from '../cli/output.js';
import { timeText } from '../dossier/time-text.js';
import { spacedUnit } from '../dossier/unit-text.js';
import { RESULT_LINES } from '../report/phrases/commands/results.js';
import { TRACE_LINES } from '../report/phrases/commands/trace.js';
import { Store } from '../store/store.js';
import { LotsModule } from './lots.module.js';
import { type ResultsAnswer, resultsAnswer, resultsCsv } from './results-answer.js';

export const module = LotsModule;

export async function run(
  context: INestApplicationContext,
  out: Output,
  lot: string,
  { format }: { format: string },
): Promise<number> {
  const answer = await resultsAnswer(context.get(Store).read, lot);
  out.object(answer);
  if (format === 'csv') out.line(resultsCsv(answer).trimEnd());
  else if (format === 'json') out.line(JSON.stringify(answer, null, 2));
  else say(answer, out);
  return 0;
}

function say({ lot, head, results }: ResultsAnswer, out: Output): void {
  out.line(RESULT_LINES.counted(lot, results.length));
  const rows = results.map((row) => [
    `  ${row.piece === '' ? row.specimen : `${row.specimen}/${row.piece}`}`,
    row.characteristic,
    row.replicate,
    `${row.value}${spacedUnit(row.ucum)}`,
    ...[timeText(row.measuredAt), row.instrument, row.analyst, `${row.file}, ${RESULT_LINES.line(row.line)}`],
    row.status === 'corrected' ? RESULT_LINES.corrected : '',
  ]);
  const [first, ...heads] = RESULT_LINES.heads;
  if (rows.length > 0) for (const row of table([[`  ${first}`, ...heads], ...rows])) out.line(row);
  out.line(TRACE_LINES.asOf(head));
}

import type { INestApplicationContext } from '@nestjs/common';
import { type Output, table } from '../cli/output.js';
import { DESIGN_LINES } from '../report/phrases/commands/design.js';
import { kindText } from '../report/phrases/kinds.js';
import { Store } from '../store/store.js';
import { readAsOf } from './as-of.js';
import { type DesignAnswer, designAnswer, type GapAnswered } from './design-answer.js';
import { DesignFileModule } from './design-file.module.js';
import { DesignFiles } from './design-files.js';

export const module = DesignFileModule;

/** Where gaps are open. */
const GAPS_OPEN = 4;

export async function run(
  context: INestApplicationContext,
  out: Output,
  family: string,
  { asOf }: { asOf?: string },
): Promise<number> {
  const { clock } = context.get(Store);
  const facts = await context.get(DesignFiles).of(family, asOf === undefined ? undefined : readAsOf(asOf, clock));
  const answer = designAnswer(facts);
  out.object(answer);
  sayDesign(answer, out);
  return answer.open > 0 ? GAPS_OPEN : 0;
}

function sayDesign({ family, asOf, open, gaps, matrix }: DesignAnswer, out: Output): void {
  out.line(DESIGN_LINES.title(family, asOf, open, gaps.length - open));
  for (const gap of gaps) sayGap(gap, out);
  if (matrix.length === 0) return;
  out.line('');
  out.line(DESIGN_LINES.matrix);
  const shown = (codes: readonly (string | null)[]) => codes.filter((code) => code !== null).join(', ') || '-';
  const rows = matrix.map((row) => [
    ...[`  ${row.need ?? '-'}`, row.input ?? '-', row.output ?? '-'],
    ...[shown(row.verifiedBy), shown(row.validatedBy), shown(row.controls)],
  ]);
  const [first, ...heads] = DESIGN_LINES.heads;
  for (const row of table([[`  ${first}`, ...heads], ...rows])) out.line(row);
}

function sayGap(gap: GapAnswered, out: Output): void {
  const [subject] = gap.subjects;
  out.line('');
  out.line(DESIGN_LINES.gap(gap.rule, kindText(subject!.kind), subject!.key, gap.says));
  if (gap.state === 'answered') out.line(`  ${DESIGN_LINES.answered(gap.answer!)}`);
  else {
    if (gap.state !== 'open') out.line(`  ${gap.stateSays}`);
    out.line(`  ${DESIGN_LINES.who(gap.owners, gap.by)}`);
    out.line(`  ${gap.remedy}`);
  }
  out.line(`  ${DESIGN_LINES.identity(gap.id)}`);
}

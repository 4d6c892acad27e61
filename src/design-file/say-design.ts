import { type Output, table } from '../cli/output.js';
import { BASELINE_LINES } from '../report/phrases/baselines.js';
import { DESIGN_LINES } from '../report/phrases/commands/design.js';
import { CHANGE_LINES } from '../report/phrases/design-changes.js';
import { entryText, kindText } from '../report/phrases/kinds.js';
import type { TouchedNow } from './change-lists.js';
import type { Comparison } from './comparison.js';
import type { DesignAnswer, DeviceFileAnswer, GapAnswered } from './design-answer.js';

/** Gaps first, then the matrix, then what was frozen and built. */
export function sayDesign(answer: DesignAnswer, out: Output): void {
  const { family, asOf, open, gaps, matrix } = answer;
  out.line(DESIGN_LINES.title(family, asOf, open, gaps.length - open));
  for (const gap of gaps) sayGap(gap, out);
  if (matrix.length > 0) {
    const shown = (codes: readonly (string | null)[]) => codes.filter((code) => code !== null).join(', ') || '-';
    const rows = matrix.map((row) => [
      ...[row.need ?? '-', row.input ?? '-', row.output ?? '-'],
      ...[shown(row.verifiedBy), shown(row.validatedBy), shown(row.controls)],
    ]);
    sayTable(DESIGN_LINES.matrix, [DESIGN_LINES.heads, ...rows], out);
  }
  if (answer.claims.length > 0) {
    out.line('');
    out.line(DESIGN_LINES.claims);
    for (const { study, says, from } of answer.claims) out.line(`  ${study}, ${from}: ${says}`);
  }
  sayFrozen(answer, out);
}

function sayFrozen({ baselines, lots }: DesignAnswer, out: Output): void {
  if (baselines.length > 0) {
    out.line('');
    out.line(BASELINE_LINES.head);
    for (const one of baselines) out.line(`  ${BASELINE_LINES.line(one)}`);
  }
  if (lots.length === 0) return;
  const rows = lots.map(({ lot, builtAt, baseline, state }) => [
    ...[lot, builtAt?.slice(0, 10) ?? BASELINE_LINES.notBuilt, baseline ?? BASELINE_LINES.noBaseline, state],
  ]);
  sayTable(BASELINE_LINES.lots, [BASELINE_LINES.lotHeads, ...rows], out);
}

/** A table below its title, set in. */
function sayTable(title: string, rows: readonly (readonly string[])[], out: Output): void {
  out.line('');
  out.line(title);
  for (const row of table(rows.map(([first, ...rest]) => [`  ${first}`, ...rest]))) out.line(row);
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

export function sayComparison(found: Comparison, out: Output): void {
  const { added, removed, revised, same } = found;
  out.line(BASELINE_LINES.compared(found));
  if (added.length + removed.length + revised.length === 0) {
    out.line(BASELINE_LINES.noDifference(same));
    return;
  }
  for (const one of added) out.line(`  ${BASELINE_LINES.added(one)}`);
  for (const one of removed) out.line(`  ${BASELINE_LINES.removed(one)}`);
  for (const { before, after, changes } of revised) {
    out.line(`  ${BASELINE_LINES.revised(before, after)}`);
    for (const change of changes) out.line(`    ${BASELINE_LINES.change(change.what, change.before, change.after)}`);
  }
  out.line(BASELINE_LINES.same(same));
}

export function sayDeviceFile({ family, asOf, documents }: DeviceFileAnswer, out: Output): void {
  if (documents.length === 0) {
    out.line(DESIGN_LINES.nothingApproved);
    return;
  }
  const rows = documents.map(({ kind, key, revision, name, approvedBy, digest }) => [
    ...[entryText(kind, key, revision), name, approvedBy ?? '', digest.slice(0, 12)],
  ]);
  for (const line of [DESIGN_LINES.deviceFile(family, asOf), ...table([DESIGN_LINES.deviceHeads, ...rows])])
    out.line(line);
}

export function sayTouched({ change, revision, asOf, lines }: TouchedNow, isTaken: boolean, out: Output): void {
  if (lines.length === 0) out.line(CHANGE_LINES.nothing(change));
  else out.line(CHANGE_LINES.head(change, lines.length, asOf.entries));
  for (const line of lines) out.line(`  ${CHANGE_LINES.line(line)}`);
  if (isTaken) out.line(CHANGE_LINES.taken(change, revision));
}

import type { INestApplicationContext } from '@nestjs/common';
import type { UnitResult } from '../assessment/assessment.js';
import type { Moment } from '../assessment/moment.js';
import { answerFor, type MomentAnswer } from '../assessment/moments.js';
import { type Output, table } from '../cli/output.js';
import { systemActor } from '../cli/run.js';
import { timeText } from '../dossier/time-text.js';
import { assessedInWords, checkInWords, checkTitle, reasonsInWords, reasonWords } from '../report/assessment-words.js';
import { LOT_LINES } from '../report/phrases/commands/lots.js';
import { concededText } from '../report/phrases/lifts.js';
import { verdictCounts } from '../report/phrases/verdicts.js';
import { LotAssessor } from './lot-assessor.js';
import { LotsModule } from './lots.module.js';

export const module = LotsModule;

export async function run(
  context: INestApplicationContext,
  out: Output,
  lot: string,
  options: { for: Moment },
): Promise<number> {
  const assessed = await context.get(LotAssessor).assess(lot, systemActor());
  const { facts, assessment, dossierSha256 } = assessed;
  const { characteristics, capability } = assessedInWords(assessed);
  const { moment, units, releasable, why, checks } = answerFor(facts, assessment, options.for);
  const inWords = (reasons: (typeof why)[string]) => reasonsInWords(checks, reasons);
  out.object({
    lot,
    for: moment,
    dossier: dossierSha256,
    units: units.map((unit) => ({ ...unit, why: inWords(unit.why) })),
    releasable,
    why: Object.fromEntries(Object.entries(why).map(([serial, reasons]) => [serial, inWords(reasons)])),
    checks: checks.map(checkInWords),
    characteristics,
    capability,
  });
  sayAnswer(lot, { moment, units, releasable, why, checks }, out);
  return assessmentExit({ units });
}

/** 3 when an implant does not conform, else 4 when one cannot be decided. */
export function assessmentExit({ units }: { readonly units: readonly Pick<UnitResult, 'verdict'>[] }): number {
  if (units.some((unit) => unit.verdict === 'does not conform')) return 3;
  return units.some((unit) => unit.verdict === 'cannot be decided') ? 4 : 0;
}

function sayAnswer(lot: string, answer: MomentAnswer, out: Output): void {
  const { moment, units, releasable, checks } = answer;
  out.line(LOT_LINES.assessed(lot, verdictCounts(units.map((unit) => unit.verdict))));
  out.line(LOT_LINES.answer(moment, releasable, units.length));
  const wordsOf = reasonWords(checks);
  for (const unit of units) {
    out.line(`  ${LOT_LINES.unit(unit.serial, unit.verdict)}`);
    for (const { characteristic, until } of unit.open)
      out.line(`    ${LOT_LINES.open(characteristic, timeText(until))}`);
    for (const why of unit.why) {
      const { says, clearedBy } = wordsOf(why);
      out.line(`    ${says}`);
      out.line(`      ${why.conceded ? concededText([unit.serial]) : clearedBy}`);
    }
    const findings = [...new Set(unit.why.filter(({ conceded }) => !conceded).map(({ finding }) => finding))];
    if (findings.length > 0) out.line(`    ${LOT_LINES.nonconformity(lot, findings)}`);
  }
  for (const row of table(checks.map((check) => [`  ${checkTitle(check.code)}`, check.outcome]))) out.line(row);
}

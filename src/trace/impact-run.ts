import fs from 'node:fs';
import type { INestApplicationContext } from '@nestjs/common';
import { stringify } from 'yaml';
import { type Output, table } from '../cli/output.js';
import { systemActor } from '../cli/run.js';
import { specimenText } from '../dossier/tables.js';
import { TRACE_LINES } from '../report/phrases/commands/trace.js';
import { IMPACT_LINES } from '../report/phrases/impact.js';
import { AnswerIssuer } from './answer-issuer.js';
import { momentOption, quantityOption, uncertaintyOption } from './asked-options.js';
import { type ImpactAnswer, type ImpactResult, isAffected, lotsAmong } from './impact-answer.js';
import { impactCsv } from './impact-csv.js';
import { impactCode, impactDocument } from './impact-document.js';
import { Impacts } from './impacts.js';
import { TraceModule } from './trace.module.js';

export const module = TraceModule;

interface Options {
  readonly from?: string;
  readonly to?: string;
  readonly bias?: string;
  readonly uncertainty?: string;
  readonly without?: boolean;
  readonly draft?: string;
  readonly pdf?: string;
  readonly format: string;
}

export async function run(
  context: INestApplicationContext,
  out: Output,
  id: string,
  options: Options,
): Promise<number> {
  const [from, to] = [momentOption('--from', options.from), momentOption('--to', options.to)];
  const bias = quantityOption('--bias', options.bias);
  const uncertainty = uncertaintyOption('--uncertainty', options.uncertainty);
  const asked = { id, from, to, bias, uncertainty, without: options.without === true };
  const answer = await context.get(Impacts).of(asked);
  out.object(answer);
  if (options.format === 'csv') out.line(impactCsv(answer).trimEnd());
  else if (options.format === 'json') out.line(JSON.stringify(answer, null, 2));
  else sayImpact(answer, out);
  if (options.draft !== undefined) {
    const document = impactDocument(answer, { code: impactCode(answer), bias, uncertainty });
    fs.writeFileSync(options.draft, stringify(document), { flag: 'wx' });
    out.line(IMPACT_LINES.draft(options.draft));
  }
  if (options.pdf !== undefined) {
    const { pdf, sha256 } = await context.get(AnswerIssuer).impact(asked, systemActor());
    fs.writeFileSync(options.pdf, pdf, { flag: 'wx', mode: 0o600 });
    out.line(TRACE_LINES.written(options.pdf, sha256));
  }
  const isOff = isAffected(answer);
  return answer.units.some(({ serial }) => isOff(serial)) || answer.notRead.length > 0 ? 3 : 0;
}

const marginText = ({ margin, ucum, valueAgain }: ImpactResult): string =>
  valueAgain === null
    ? IMPACT_LINES.leftOut
    : margin === null
      ? IMPACT_LINES.noMargin
      : IMPACT_LINES.margin(margin, ucum);

const becomes = (first: string | null, again: string | null): string =>
  IMPACT_LINES.becomes(first ?? '', again ?? first ?? '');

function sayImpact(answer: ImpactAnswer, out: Output): void {
  const { cause, head, units, results } = answer;
  const list = (title: string, rows: readonly (readonly string[])[]) => {
    if (rows.length === 0) return;
    out.line(title);
    for (const row of table(rows.map(([first = '', ...rest]) => [`  ${first}`, ...rest]))) out.line(row);
  };
  out.line(IMPACT_LINES.cause(cause.title, cause.key, cause.name));
  out.line(TRACE_LINES.asOf(head));
  out.line(IMPACT_LINES.interval(answer.from, answer.to, answer.proposed));
  if (answer.balance !== null) out.line(TRACE_LINES.units(answer.balance));
  out.line(IMPACT_LINES.counted(results.length, lotsAmong(results), units.length));
  out.line(IMPACT_LINES.again(answer.altered, units.filter(({ flips }) => flips).length));
  list(
    IMPACT_LINES.notRead,
    answer.notRead.map(({ lot, why }) => [lot, why]),
  );
  list(
    IMPACT_LINES.units,
    units.map(({ serial, first, again, place, holder }) => [serial, becomes(first, again), place, holder]),
  );
  list(
    IMPACT_LINES.results,
    results.map((row) => [
      `${row.lot} ${specimenText(row)}`,
      `${row.characteristic} ${row.replicate}`,
      IMPACT_LINES.becomes(`${row.value} ${row.ucum}`, `${row.valueAgain ?? row.value} ${row.ucum}`),
      becomes(row.first, row.again),
      marginText(row),
    ]),
  );
  const entries = (things: ImpactAnswer['builds']) => things.map(({ title, key, name }) => [`${title} ${key}`, name]);
  list(IMPACT_LINES.builds, entries(answer.builds));
  list(IMPACT_LINES.powder, entries(answer.powder));
  list(IMPACT_LINES.claims, entries(answer.claims));
  list(
    IMPACT_LINES.capability,
    answer.capability.map((line) => [line]),
  );
  out.line(TRACE_LINES.cannotKnow);
  for (const what of answer.cannotKnow) out.line(`  ${what}`);
}

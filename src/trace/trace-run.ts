import fs from 'node:fs';
import type { INestApplicationContext } from '@nestjs/common';
import { type Output, table } from '../cli/output.js';
import { systemActor } from '../cli/run.js';
import { timeText } from '../dossier/time-text.js';
import { verdictText } from '../report/phrases/codes.js';
import { EARLIER_ANSWER, TRACE_LINES } from '../report/phrases/commands/trace.js';
import { inStatesText, powderText } from '../report/phrases/powder.js';
import { buildSharesText } from '../report/phrases/powder-shares.js';
import { signedAsText } from '../report/phrases/release-steps.js';
import { Store } from '../store/store.js';
import { AnswerIssuer } from './answer-issuer.js';
import { momentOption } from './asked-options.js';
import { compareAnswers } from './compare-answers.js';
import { demandSameTrail, earlierAnswer } from './earlier-answer.js';
import { TraceModule } from './trace.module.js';
import { traceCsv } from './trace-csv.js';
import { type SignedAct, shortKey, type TracedUnit, type TraceNode, type TraceReport } from './traced.js';
import { type Directions, Tracer } from './tracer.js';

export const module = TraceModule;

export async function run(
  context: INestApplicationContext,
  out: Output,
  id: string,
  options: {
    back?: boolean;
    forward?: boolean;
    asOf?: string;
    from?: string;
    to?: string;
    format: string;
    pdf?: string;
    since?: string;
  },
): Promise<number> {
  momentOption('--from', options.from);
  momentOption('--to', options.to);
  if (options.since !== undefined) return sinceThen(context, out, id, { ...options, since: options.since });
  if (options.pdf !== undefined) {
    const { pdf, sha256 } = await context.get(AnswerIssuer).trace(id, options, systemActor());
    fs.writeFileSync(options.pdf, pdf, { flag: 'wx', mode: 0o600 });
    out.object({ file: options.pdf, sha256 });
    out.line(TRACE_LINES.written(options.pdf, sha256));
    return 0;
  }
  const found = await context.get(Tracer).trace(id, options);
  out.object(found);
  if (options.format === 'csv') out.line(traceCsv(found).trimEnd());
  else if (options.format === 'json') out.line(JSON.stringify(found, null, 2));
  else sayTrace(found, out);
  return 0;
}

/** What is told otherwise than in an answer that somebody kept. */
async function sinceThen(
  context: INestApplicationContext,
  out: Output,
  id: string,
  { since, ...options }: Directions & { readonly since: string; readonly format: string },
): Promise<number> {
  const before = await earlierAnswer(since, id);
  await demandSameTrail(context.get(Store).read, before.report);
  const now = await context.get(Tracer).trace(id, { ...options, ...before.narrowed });
  const changes = compareAnswers(before.report, now);
  const compared = { asked: id, before: before.report.head, now: now.head, changes };
  out.object(compared);
  if (options.format === 'json') {
    out.line(JSON.stringify(compared, null, 2));
    return 0;
  }
  out.line(EARLIER_ANSWER.grew(before.report.head.size, now.head.size));
  if (changes.length === 0) out.line(EARLIER_ANSWER.same);
  const lines = changes.map(({ of, what, name, before: was, now: is }) => [
    ...[`  ${of}`, EARLIER_ANSWER.change[what], name],
    ...[EARLIER_ANSWER.before(was), EARLIER_ANSWER.now(is)],
  ]);
  for (const row of table(lines)) out.line(row);
  return 0;
}

const nodeLine = (node: TraceNode): string[] => [
  `  ${'· '.repeat(Math.min(node.depth, 8))}${node.title} ${shortKey(node)}`,
  node.verdict === null ? node.name : `${node.name}: ${node.verdict}`,
  node.via,
];

const actLine = ({ at, meaning, step, what, role, reason }: SignedAct): string[] => [
  `  ${timeText(at)}`,
  signedAsText({ meaning, step }),
  what,
  role,
  reason ?? '',
];

const revisionText = (revision: number): string =>
  revision === 0 ? TRACE_LINES.noDocument : TRACE_LINES.revision(revision);

const unitLine = ({ serial, verdict, place, since, holder, by, shares }: TracedUnit): string[] => [
  `  ${serial}`,
  verdict === null ? '' : verdictText(verdict),
  place,
  since === null ? '' : timeText(since),
  holder,
  by ?? '',
  buildSharesText(shares),
];

function sayTrace({ asked, head, matches, candidates, cannotKnow }: TraceReport, out: Output): void {
  out.line(TRACE_LINES.asOf(head));
  if (candidates.length > 0) out.line(TRACE_LINES.candidates(asked, candidates.length));
  for (const row of table(candidates.map(({ title, key, found }) => [`  ${title}`, key, found ?? '']))) out.line(row);
  for (const { entry, found, balance, units, powder, inStates, back, forward, earlier, signed, entered } of matches) {
    out.line(TRACE_LINES.thing(entry.title, entry.key, entry.name, revisionText(entry.revision)));
    if (found !== null) out.line(found);
    if (balance !== null) out.line(TRACE_LINES.units(balance));
    for (const row of table(units.map(unitLine))) out.line(row);
    for (const origin of powder) out.line(powderText(origin));
    if (inStates.length > 0) out.line(inStatesText(inStates));
    for (const [title, nodes] of [
      [TRACE_LINES.back, back],
      [TRACE_LINES.forward, forward],
    ] as const) {
      if (nodes === null) continue;
      out.line(TRACE_LINES.things(title, nodes.length));
      for (const row of table(nodes.map(nodeLine))) out.line(row);
    }
    if (earlier.length > 0) out.line(TRACE_LINES.earlier);
    for (const row of table(earlier.map((node) => [`  ${node.title} ${shortKey(node)}`, node.via]))) out.line(row);
    if (signed === null || entered === null) continue;
    out.line(TRACE_LINES.signed(signed.length));
    for (const row of table(signed.map(actLine))) out.line(row);
    out.line(TRACE_LINES.takenIn(entered.length));
    for (const row of table(entered.map(({ at, what }) => [`  ${timeText(at)}`, what]))) out.line(row);
  }
  if (matches.length > 1) out.line(TRACE_LINES.several(asked, matches.length));
  out.line(TRACE_LINES.cannotKnow);
  for (const what of cannotKnow) out.line(`  ${what}`);
}

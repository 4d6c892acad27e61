import type { z } from 'zod';
import { timeText } from '../dossier/time-text.js';
import type { RecordPage } from '../pdf/page.js';
import { TRACE_PAPER } from '../report/phrases/answer-paper.js';
import { verdictText } from '../report/phrases/codes.js';
import { inStatesText, powderText } from '../report/phrases/powder.js';
import { buildSharesText } from '../report/phrases/powder-shares.js';
import { signedAsText } from '../report/phrases/release-steps.js';
import type { Told } from './carried-answer.js';
import type { TraceAnswer } from './trace-answer.js';
import { shortKey, type TraceReport } from './traced.js';

type Match = z.infer<typeof TraceAnswer>['matches'][number];
type Node = Match['entry'];

const { heads } = TRACE_PAPER;

/** How a trace was narrowed, in words; undefined where it was not. */
export function narrowedText({
  narrowed: { direction, from, to, asOf },
}: Pick<TraceReport, 'narrowed'>): string | undefined {
  const said = [
    direction && TRACE_PAPER.direction(direction),
    from && TRACE_PAPER.from(from),
    to && TRACE_PAPER.to(to),
    asOf && TRACE_PAPER.asOf(asOf),
  ].filter((text) => text !== null && text !== '');
  return said.length === 0 ? undefined : said.join(', ');
}

/** The answer of a trace on paper, in the order of the page. */
export function drawTrace(page: RecordPage, { report }: Extract<Told, { what: 'trace' }>): void {
  if (report.candidates.length > 0) {
    page.heading(1, TRACE_PAPER.candidates, { listed: false });
    page.list(report.candidates.map(({ title, key, found }) => [title, key, found].filter(Boolean).join(', ')));
  }
  for (const match of report.matches) drawMatch(page, match);
  page.heading(1, TRACE_PAPER.cannotKnow, { listed: false });
  page.list(report.cannotKnow);
}

function drawMatch(page: RecordPage, match: Match): void {
  const { entry, found, balance, units, powder, inStates, back, forward, earlier, signed, entered } = match;
  page.heading(1, `${entry.title} ${entry.key}`, { listed: false });
  page.paragraph([entry.name, TRACE_PAPER.revision(entry.revision), found].filter(Boolean).join(', '));
  if (balance !== null) {
    page.paragraph([{ text: `${balance}.`, style: 'bold' }]);
    drawUnits(page, units);
  }
  for (const origin of powder) page.paragraph(`${powderText(origin)}.`);
  if (inStates.length > 0) page.paragraph(`${inStatesText(inStates)}.`);
  if (back !== null) drawNodes(page, TRACE_PAPER.back, back);
  if (forward !== null) drawNodes(page, TRACE_PAPER.forward, forward);
  if (earlier.length > 0) {
    page.heading(2, TRACE_PAPER.earlier, { listed: false });
    page.list(earlier.map((node) => `${node.title} ${shortKey(node)}: ${node.via}`));
  }
  if (signed !== null && signed.length > 0) {
    page.heading(2, TRACE_PAPER.signed, { listed: false });
    page.table({
      caption: TRACE_PAPER.signed,
      columns: [
        { head: heads.at, width: 0.18 },
        { head: heads.meaning, width: 0.2 },
        { head: heads.what, width: 0.42 },
        { head: heads.digest, width: 0.2 },
      ],
      rows: signed.map(({ at, what, digest, ...act }) => [timeText(at), signedAsText(act), what, digest]),
    });
  }
  if (entered !== null && entered.length > 0) {
    page.heading(2, TRACE_PAPER.entered, { listed: false });
    page.table({
      caption: TRACE_PAPER.entered,
      columns: [
        { head: heads.at, width: 0.25 },
        { head: heads.what, width: 0.75 },
      ],
      rows: entered.map(({ at, what }) => [timeText(at), what]),
    });
  }
}

function drawUnits(page: RecordPage, units: Match['units']): void {
  const isPowder = units.some(({ shares }) => shares.length > 0);
  page.heading(2, TRACE_PAPER.units, { listed: false });
  page.table({
    caption: TRACE_PAPER.units,
    columns: [
      { head: heads.implant, width: isPowder ? 0.13 : 0.16 },
      { head: heads.lot, width: isPowder ? 0.12 : 0.14 },
      ...(isPowder ? [{ head: heads.share, width: 0.09 }] : []),
      { head: heads.proposed, width: isPowder ? 0.12 : 0.13 },
      { head: heads.where, width: isPowder ? 0.14 : 0.15 },
      { head: heads.since, width: 0.14 },
      { head: heads.holder, width: isPowder ? 0.14 : 0.16 },
      { head: heads.by, width: 0.12 },
    ],
    rows: units.map(({ serial, lot, verdict, place, since, holder, by, shares }) => [
      ...[serial, lot, ...(isPowder ? [buildSharesText(shares)] : [])],
      ...[verdict === null ? '' : verdictText(verdict), place],
      ...[since === null ? '' : timeText(since), holder, by ?? ''],
    ]),
  });
}

function drawNodes(page: RecordPage, title: string, nodes: readonly Node[]): void {
  page.heading(2, title, { listed: false });
  page.table({
    caption: title,
    columns: [
      { head: heads.ties, width: 0.06 },
      { head: heads.what, width: 0.14 },
      { head: heads.identifier, width: 0.2 },
      { head: heads.name, width: 0.25 },
      { head: heads.tied, width: 0.35 },
    ],
    rows: nodes.map((node) => [
      ...[String(node.depth), node.title],
      `${shortKey(node)} ${TRACE_PAPER.revision(node.revision)}`.trim(),
      node.verdict === null ? node.name : `${node.name}: ${verdictText(node.verdict)}`,
      node.via,
    ]),
    empty: TRACE_PAPER.none,
  });
}

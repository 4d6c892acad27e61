import { noFormula, writeCsv } from '../dossier/csv.js';
import { verdictText } from '../report/phrases/codes.js';
import { buildSharesText } from '../report/phrases/powder-shares.js';
import { signedAsText } from '../report/phrases/release-steps.js';
import type { TraceReport } from './traced.js';

/** A row for each implant, thing and act of an answer. */
export function traceCsv({ matches, candidates }: Pick<TraceReport, 'matches' | 'candidates'>): string {
  const listed = candidates.map(({ kind, key, found }) => ['', 'candidate', '', kind, key, found ?? '', '', '', '']);
  const rows = matches.flatMap(({ entry, units, back, forward, earlier, signed, entered }) => [
    ...units.map(({ serial, verdict, place, since, holder, by, shares }) => [
      `${entry.kind} ${entry.key}`,
      'where',
      '',
      'implant',
      serial,
      `${place}, ${holder}`,
      '',
      [since ?? '', by ?? '', buildSharesText(shares)].filter(Boolean).join(', '),
      verdict === null ? '' : verdictText(verdict),
    ]),
    ...[
      ...(back ?? []).map((node) => ['back', node] as const),
      ...(forward ?? []).map((node) => ['forward', node] as const),
    ].map(([direction, node]) => [
      `${entry.kind} ${entry.key}`,
      direction,
      String(node.depth),
      node.kind,
      node.key,
      node.name,
      String(node.revision),
      node.via,
      node.verdict === null ? '' : verdictText(node.verdict),
    ]),
    ...earlier.map(({ direction, kind, key, via }) => [
      ...[`${entry.kind} ${entry.key}`, `${direction}, earlier`, '', kind, key, '', '', via, ''],
    ]),
    ...(signed ?? []).map(({ at, meaning, step, what, digest }) => [
      `${entry.kind} ${entry.key}`,
      'signed',
      '1',
      'statement',
      digest,
      what,
      '',
      `${signedAsText({ meaning, step })} at ${at}`,
      '',
    ]),
    ...(entered ?? []).map(({ at, what }) => [
      `${entry.kind} ${entry.key}`,
      'taken in',
      '1',
      '',
      '',
      what,
      '',
      `at ${at}`,
      '',
    ]),
  ]);
  const columns = ['asked', 'direction', 'distance', 'kind', 'key', 'name', 'revision', 'via', 'verdict'];
  return writeCsv(
    columns,
    [...listed, ...rows].map((row) => row.map(noFormula)),
  );
}

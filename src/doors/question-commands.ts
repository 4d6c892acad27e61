import { type Command, Option } from 'commander';
import { limitsText } from '../assessment/limits.js';
import { exits } from '../cli/exits.js';
import { type Output, table } from '../cli/output.js';
import { type Run, runBare } from '../cli/run.js';
import { writeCsv } from '../dossier/csv.js';
import { timeText } from '../dossier/time-text.js';
import { capabilityNoteText, exclusionText } from '../report/phrases/capability.js';
import { EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import type { SignedAct, TraceNode, TraceReport } from '../trace/tracer.js';
import type { TrendReport } from '../trend/family-trend.js';
import type { VerifyReport } from '../verify/report.js';
import { verifyRecord } from '../verify/verify-record.js';

/** Commands that answer: trace, trend, verify. */
export function addQuestionCommands(program: Command, run: Run): void {
  exits(program.command('trace'), { 7: 'nothing of that name' })
    .argument('<id>', 'serial, coupon, lot, build, heat, receipt, powder state, recipe, instrument, person…')
    .option('--back', 'only what it came from')
    .option('--forward', 'only what came from it')
    .addOption(new Option('--format <format>').choices(['table', 'csv']).default('table'))
    .description('where something came from and where it went')
    .action((id: string, options: { back?: boolean; forward?: boolean; format: string }) =>
      run(async ({ tracer }, out) => {
        const found = await tracer.trace(id, options);
        out.object(found);
        if (options.format === 'csv') sayTraceCsv(found, out);
        else sayTrace(found, out);
        return 0;
      }),
    );

  exits(program.command('trend'), { 7: 'no such family or characteristic' })
    .argument('<characteristic>')
    .requiredOption('--family <family>')
    .description('a characteristic of a family over its builds, with limits, performance index and its bound')
    .action((characteristic: string, options: { family: string }) =>
      run(async ({ trend }, out) => {
        const found = await trend.trend(characteristic, options.family);
        out.object(found);
        sayTrend(found, out);
        return 0;
      }),
    );

  exits(program.command('verify'), {
    0: 'unaltered',
    6: 'altered',
    8: 'unaltered, but this version assesses differently',
  })
    .argument('<file>', 'a PDF record')
    .option('--key <fingerprint>', 'fingerprint of the installation key that you trust')
    .option('--evidence <folder>', 'folder with the original files: compared, and logs scanned again')
    .option('--with <file>', 'an earlier record of the lot: its audit trail must be the beginning of this one')
    .description('checks a record offline and assesses it again; needs no data folder')
    .action((file: string, options: { key?: string; evidence?: string; with?: string }) =>
      runBare(program, async (out) => {
        const found = await verifyRecord(file, options);
        out.object(found);
        sayVerify(found, out);
        return { unaltered: 0, altered: 6, 'assesses differently': 8 }[found.verdict];
      }),
    );
}

const nodeLine = (node: TraceNode): string[] => [
  `  ${'· '.repeat(Math.min(node.depth, 8))}${node.title} ${node.key}`,
  node.name,
  node.via,
];

const actLine = ({ at, meaning, what, role, reason }: SignedAct): string[] => [
  `  ${timeText(at)}`,
  meaning,
  what,
  role,
  reason ?? '',
];

const revisionText = (revision: number): string =>
  revision === 0 ? 'an account without a document' : `revision ${revision}`;

function sayTrace({ asked, matches }: TraceReport, out: Output): void {
  for (const { entry, back, forward, signed } of matches) {
    out.line(`${entry.title} ${entry.key} (${entry.name}), ${revisionText(entry.revision)}`);
    for (const [title, nodes] of [
      ['Came from', back],
      ['Went into', forward],
    ] as const) {
      if (nodes === null) continue;
      out.line(`${title}: ${nodes.length === 0 ? 'nothing on record' : `${nodes.length} things`}`);
      for (const row of table(nodes.map(nodeLine))) out.line(row);
    }
    if (signed === null) continue;
    out.line(`Signed: ${signed.length === 0 ? 'nothing' : `${signed.length} statements, the latest first`}`);
    for (const row of table(signed.map(actLine))) out.line(row);
  }
  if (matches.length > 1) out.line(`"${asked}" names ${matches.length} things; all are shown.`);
}

function sayTraceCsv({ matches }: TraceReport, out: Output): void {
  const rows = matches.flatMap(({ entry, back, forward, signed }) => [
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
    ]),
    ...(signed ?? []).map(({ at, meaning, what, digest }) => [
      `${entry.kind} ${entry.key}`,
      'signed',
      '1',
      'statement',
      digest,
      what,
      '',
      `${meaning} at ${at}`,
    ]),
  ]);
  const columns = ['asked', 'direction', 'distance', 'kind', 'key', 'name', 'revision', 'via'];
  out.line(writeCsv(columns, rows).trimEnd());
}

function sayTrend(report: TrendReport, out: Output): void {
  const { characteristic: item, capability, lots } = report;
  out.line(`${item.title} of family ${report.family}, ${limitsText(item)} ${item.ucum}, in build order:`);
  const number = (value: number | null) => (value === null ? '-' : String(Number(value.toPrecision(5))));
  const rows = lots.map((row) => [
    `  ${row.builtAt.slice(0, 10)}`,
    row.lot,
    row.build,
    String(row.n),
    number(row.mean),
    number(row.min),
    number(row.max),
  ]);
  for (const row of table([['  built', 'lot', 'build', 'n', 'mean', 'min', 'max'], ...rows])) out.line(row);
  const index =
    capability.ppk === null
      ? 'no index'
      : `Ppk ${number(capability.ppk)}, with ${capability.confidence * 100} % confidence at least ${number(capability.ppkLower)}`;
  out.line(`Over ${capability.n} values of ${capability.builds} builds before lot ${report.latestLot}: ${index}.`);
  if (report.ofEarlierVersion) out.line(EARLIER_VERSION);
  for (const note of capability.notes) out.line(`  ${capabilityNoteText(note)}`);
  for (const { lot, values, why } of capability.excluded) {
    out.line(`  left out: ${values} value(s) of ${lot}, ${exclusionText(why)}`);
  }
}

function sayVerify(report: VerifyReport, out: Output): void {
  const { record } = report;
  if (record) out.line(`Record ${record.number}, revision ${record.revision}`);
  for (const row of table(report.steps.map((step) => [`  ${step.step}`, step.outcome, step.says]))) out.line(row);
  for (const unit of report.units) {
    out.line(`  ${unit.serial}: ${unit.verdict}${unit.now === undefined ? '' : `; this version: ${unit.now}`}`);
  }
  const said = {
    unaltered: 'Unaltered, as far as the file can show. That is not the same as true, complete or released.',
    altered: 'ALTERED: do not rely on this file.',
    'assesses differently': 'Unaltered, but this version of the program assesses differently: both are shown above.',
  };
  out.line(said[report.verdict]);
}

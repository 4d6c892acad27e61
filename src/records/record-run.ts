import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { systemActor } from '../cli/run.js';
import { RECORD_LINES } from '../report/phrases/commands/records.js';
import { PackageWriter } from './package-writer.js';
import { type PaperRequest, PaperWriter } from './paper-writer.js';
import { RecordIssuer } from './record-issuer.js';
import { RecordsModule } from './records.module.js';

export const module = RecordsModule;

interface Options {
  readonly out?: string;
  readonly forCase?: string;
  readonly package?: true;
  readonly labels?: true;
  readonly unit?: string;
  readonly statement?: string;
}

export async function run(
  context: INestApplicationContext,
  out: Output,
  lot: string,
  options: Options,
): Promise<number> {
  const request = paperOf(options);
  if (request) {
    const written = await context.get(PaperWriter).write(lot, systemActor(), request, options.out);
    out.object(written);
    out.line(RECORD_LINES.paper(written.serials, written.file, written.draft));
    return 0;
  }
  const to = options.package ? {} : { out: options.out };
  const issued = await context.get(RecordIssuer).issue(lot, systemActor(), { ...to, forCase: options.forCase });
  const written = options.package ? await context.get(PackageWriter).write(issued, options.out) : undefined;
  out.object(written ? { ...issued, package: written } : issued);
  sayIssued(issued, out);
  if (written) {
    out.line(RECORD_LINES.package(written.files, written.file));
    for (const says of written.leftOut) out.line(`  ${RECORD_LINES.leftOut(says)}`);
  }
  return 0;
}

function paperOf({ labels, unit, statement, forCase }: Options): PaperRequest | undefined {
  if (labels) return { paper: 'labels', forCase };
  if (unit !== undefined) return { paper: 'unit-sheet', serial: unit };
  return statement === undefined ? undefined : { paper: 'statement', serial: statement };
}

function sayIssued(
  issued: {
    number: string;
    revision: number;
    draft: boolean;
    final: boolean;
    file: string;
    dossierSha256: string;
    enclosureSha256: string;
  },
  out: Output,
): void {
  out.line(RECORD_LINES.record(issued, issued.file));
  out.line(RECORD_LINES.digests(issued.dossierSha256.slice(0, 12), issued.enclosureSha256.slice(0, 12)));
}

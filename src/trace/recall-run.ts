import fs from 'node:fs';
import path from 'node:path';
import type { INestApplicationContext } from '@nestjs/common';
import { stringify } from 'yaml';
import { AppError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { actorFrom } from '../intake/command-actor.js';
import { Intake } from '../intake/intake.js';
import { RECALL_FILES, RECALL_LINES } from '../report/phrases/recall.js';
import { Store } from '../store/store.js';
import { momentOption } from './asked-options.js';
import { consigneesOf, recallFiles, stillHere } from './recall.js';
import { RecallModule } from './recall.module.js';
import { draftedRecall, madeRecall } from './recall-begun.js';
import { Tracer } from './tracer.js';

export const module = RecallModule;

interface Options {
  readonly code: string;
  readonly trigger: string;
  readonly reason: string;
  readonly out: string;
  readonly drill?: boolean;
  readonly aim?: string;
  readonly from?: string;
  readonly to?: string;
  readonly take?: boolean;
  readonly person?: string;
  readonly passwordStdin?: boolean;
}

export async function run(
  context: INestApplicationContext,
  out: Output,
  id: string,
  options: Options,
): Promise<number> {
  const isTaken = options.take === true;
  if (options.person !== undefined && !isTaken) throw new AppError('BAD_INPUT', RECALL_LINES.personWithoutTake);
  const [from, to] = [momentOption('--from', options.from), momentOption('--to', options.to)];
  const { code, trigger, reason, drill = false, aim: aimHours } = options;
  const services = { store: context.get(Store), tracer: context.get(Tracer) };
  const drafted = await draftedRecall(services, { id, code, drill, trigger, reason, aimHours, from, to });
  const { asked, units, document } = drafted;
  makeFolder(options.out);
  if (isTaken) await context.get(Intake).take([madeRecall(document)], await actorFrom(context, options));
  const files = new Map([[RECALL_FILES.document, stringify(document)], ...recallFiles(asked, units)]);
  for (const [name, text] of files) fs.writeFileSync(path.join(options.out, name), text, { flag: 'wx' });
  out.object({ ...asked, expected: units.length, taken: isTaken, files: [...files.keys()] });
  out.line(RECALL_LINES.title(code, drill));
  out.line(RECALL_LINES.expected(units.length, stillHere(units).length, consigneesOf(units).length));
  out.line(RECALL_LINES.written(options.out));
  out.line(RECALL_LINES.next(isTaken, drill));
  return 0;
}

/** Before anything is taken in. @throws AppError REFUSED for a file, or a folder that holds something. */
function makeFolder(folder: string): void {
  const found = fs.statSync(folder, { throwIfNoEntry: false });
  if (found !== undefined && !(found.isDirectory() && fs.readdirSync(folder).length === 0)) {
    throw new AppError('REFUSED', RECALL_LINES.noFolder(folder, found.isDirectory()));
  }
  fs.mkdirSync(folder, { recursive: true });
}

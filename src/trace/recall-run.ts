import fs from 'node:fs';
import path from 'node:path';
import type { INestApplicationContext } from '@nestjs/common';
import { stringify } from 'yaml';
import { AppError, BadInputError, NotFoundError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { recall } from '../kinds/after-release/recall.js';
import { placesOfImplants } from '../lots/unit-places.js';
import { RECALL_FILES, RECALL_LINES } from '../report/phrases/recall.js';
import { Store } from '../store/store.js';
import { momentOption } from './asked-options.js';
import { consigneesOf, type RecallAsked, recallDocument, recallFiles, stillHere } from './recall.js';
import { TraceModule } from './trace.module.js';
import { Tracer } from './tracer.js';

export const module = TraceModule;

interface Options {
  readonly code: string;
  readonly trigger: string;
  readonly reason: string;
  readonly out: string;
  readonly drill?: boolean;
  readonly aim?: string;
  readonly from?: string;
  readonly to?: string;
}

export async function run(
  context: INestApplicationContext,
  out: Output,
  id: string,
  options: Options,
): Promise<number> {
  const [from, to] = [momentOption('--from', options.from), momentOption('--to', options.to)];
  const store = context.get(Store);
  const { matches, head } = await context.get(Tracer).trace(id, { forward: true, from, to });
  const serials = [...new Set(matches.flatMap(({ units }) => units.map(({ serial }) => serial)))];
  if (serials.length === 0) throw new NotFoundError(RECALL_LINES.nothing, id);
  const units = (await placesOfImplants(store.read, serials)).sort((a, b) => (a.key < b.key ? -1 : 1));
  const { code, trigger, reason, drill = false, aim: aimHours } = options;
  const started = store.clock.now().toISOString();
  const asked: RecallAsked = { recall: code, drill, trigger, reason, query: id, started, aimHours, head };
  const document = recallDocument(asked, units);
  checkDocument(document);
  if (fs.existsSync(options.out) && fs.readdirSync(options.out).length > 0) {
    throw new AppError('REFUSED', `${options.out} holds something; name a folder that is absent or empty`);
  }
  fs.mkdirSync(options.out, { recursive: true });
  const files = new Map([[RECALL_FILES.document, stringify(document)], ...recallFiles(asked, units)]);
  for (const [name, text] of files) fs.writeFileSync(path.join(options.out, name), text, { flag: 'wx' });
  out.object({ ...asked, expected: serials.length, files: [...files.keys()] });
  out.line(RECALL_LINES.title(code, drill));
  out.line(RECALL_LINES.expected(units.length, stillHere(units).length, consigneesOf(units).length));
  out.line(RECALL_LINES.written(options.out));
  out.line(drill ? RECALL_LINES.nextDrill : RECALL_LINES.next);
  return 0;
}

/** @throws BadInputError for what would be refused when it is taken in. */
function checkDocument(document: Record<string, unknown>): void {
  const read = recall.schema.safeParse(document);
  const faults = read.success
    ? recall.contradictions(read.data)
    : read.error.issues.map(({ path: place, message }) => ({
        ...{ field: place.map(String).join('.'), found: 'another text', expected: message, remedy: 'mend the option' },
      }));
  if (faults.length > 0) throw new BadInputError(faults.map((fault) => ({ code: 'recall', ...fault })));
}

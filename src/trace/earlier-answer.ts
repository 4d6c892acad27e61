import fs from 'node:fs';
import { z } from 'zod';
import { AppError, BadInputError } from '../base/errors.js';
import { openPdf } from '../pdf/reading/open-pdf.js';
import { EARLIER_ANSWER } from '../report/phrases/commands/trace.js';
import type { Reads } from '../store/repositories.js';
import { ANSWER_FILE, CarriedAnswer } from './carried-answer.js';
import { TraceAnswer } from './trace-answer.js';
import type { TraceReport } from './traced.js';
import type { Directions } from './tracer.js';

/** An answer that somebody kept, and how the same is asked for again. */
export interface EarlierAnswer {
  readonly report: z.infer<typeof TraceAnswer>;
  readonly narrowed: Directions;
}

/**
 * Reads an answer of a trace that was given out before: the sealed PDF, or the JSON of the command. That a PDF was not altered is
 * for `verify` to say.
 * @throws BadInputError for another file, or an answer to another question.
 */
export async function earlierAnswer(file: string, id: string): Promise<EarlierAnswer> {
  if (!isFile(file)) throw wrong(file, EARLIER_ANSWER.notRead, EARLIER_ANSWER.takeOne);
  const found = (await readPdf(file)) ?? readJson(file);
  if (found === undefined) throw wrong(file, EARLIER_ANSWER.noAnswer, EARLIER_ANSWER.takeOne);
  if (found.report.asked !== id) throw wrong(file, EARLIER_ANSWER.asked(found.report.asked), EARLIER_ANSWER.askIt);
  return found;
}

function isFile(file: string): boolean {
  return fs.statSync(file, { throwIfNoEntry: false })?.isFile() === true;
}

const PDF = '%PDF-';

async function readPdf(file: string): Promise<EarlierAnswer | undefined> {
  if (fs.readFileSync(file).subarray(0, PDF.length).toString('latin1') !== PDF) return undefined;
  const bytes = (await openPdf(file)).contents.attachments.get(ANSWER_FILE);
  if (bytes === undefined) return undefined;
  const { success, data } = CarriedAnswer.safeParse(JSON.parse(Buffer.from(bytes).toString()));
  if (!success || data.told.what !== 'trace') return undefined;
  return earlier(data.told.report);
}

function readJson(file: string): EarlierAnswer | undefined {
  try {
    return earlier(TraceAnswer.parse(JSON.parse(fs.readFileSync(file, 'utf8'))));
  } catch (error) {
    if (error instanceof SyntaxError || error instanceof z.ZodError) return undefined;
    throw error;
  }
}

/** What is compared with it is asked for in the same direction, and in the same time of use. */
function earlier(report: EarlierAnswer['report']): EarlierAnswer {
  const { direction, from, to } = report.narrowed;
  const ways = { back: direction === 'back', forward: direction === 'forward' };
  return { report, narrowed: { ...ways, from: from ?? undefined, to: to ?? undefined } };
}

/** @throws AppError ALTERED where the audit trail of now does not begin with that of the answer. */
export async function demandSameTrail({ ledger }: Reads, { head }: Pick<TraceReport, 'head'>): Promise<void> {
  const size = await ledger.size();
  if (head.size <= size && (await ledger.root(head.size)) === head.root) return;
  throw new AppError('ALTERED', EARLIER_ANSWER.otherTrail(head.size, size));
}

const wrong = (file: string, found: string, remedy: string) =>
  new BadInputError([
    { code: 'answer', field: '--since', found: `${file}, ${found}`, expected: EARLIER_ANSWER.expected, remedy },
  ]);

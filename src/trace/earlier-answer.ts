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

/** An answer that somebody kept, with how it was narrowed where the file tells so. */
export interface EarlierAnswer {
  readonly report: z.infer<typeof TraceAnswer>;
  readonly narrowed: Directions | undefined;
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
  const { direction, from, to } = data.told.narrowed;
  const narrowed = {
    back: direction === 'back',
    forward: direction === 'forward',
    from: from ?? undefined,
    to: to ?? undefined,
  };
  return { report: data.told.report, narrowed };
}

function readJson(file: string): EarlierAnswer | undefined {
  try {
    const report = TraceAnswer.parse(JSON.parse(fs.readFileSync(file, 'utf8')));
    return { report, narrowed: directionIn(report) };
  } catch (error) {
    if (error instanceof SyntaxError || error instanceof z.ZodError) return undefined;
    throw error;
  }
}

/** An answer tells by what it lacks in which direction it was asked for; not in which time. */
function directionIn({ matches }: Pick<TraceReport, 'matches'>): Directions | undefined {
  const lacks = (way: 'back' | 'forward') => matches.some((match) => match[way] === null);
  return matches.length === 0 ? undefined : { back: lacks('forward'), forward: lacks('back') };
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

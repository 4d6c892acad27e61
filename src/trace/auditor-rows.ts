import { AppError } from '../base/errors.js';
import { AUDITOR_ANSWERS, AUDITOR_QUESTIONS, type AuditorQuestionName } from '../report/phrases/auditor-questions.js';
import type { AuditorAnswer } from './auditor-answer.js';
import type { AskedByAuditor } from './auditor-asked.js';
import { QUESTIONS } from './auditor-questions.js';

/** What a question was asked for: days of UTC, and a text that a row has to hold, whatever its capitals. */
export interface AuditorAsked {
  readonly from?: string | undefined;
  readonly to?: string | undefined;
  readonly about?: string | undefined;
}

const DAY_MS = 86_400_000;
const MOST_TRIES = 3;

/** @throws AppError BAD_INPUT for days the wrong way round, and BUSY where something came in at each try. */
export async function answerOf(
  services: Omit<AskedByAuditor, 'within'>,
  question: AuditorQuestionName,
  { from, to, about }: AuditorAsked,
): Promise<AuditorAnswer> {
  const first = from === undefined ? Number.NEGATIVE_INFINITY : Date.parse(from);
  const last = to === undefined ? Number.POSITIVE_INFINITY : Date.parse(to) + DAY_MS;
  if (first >= last) throw new AppError('BAD_INPUT', AUDITOR_ANSWERS.wrongWay(from!, to!));
  const isAll = from === undefined && to === undefined;
  const within = (moment: string) => isAll || (Date.parse(moment) >= first && Date.parse(moment) < last);
  const wanted = about?.toLowerCase();
  const { title, clause, columns } = AUDITOR_QUESTIONS[question];
  const { read } = services.store;
  for (let tries = 1; ; tries += 1) {
    const size = await read.ledger.size();
    const all = await QUESTIONS[question]({ ...services, within });
    // What came in meanwhile may stand in some rows and not in others.
    if ((await read.ledger.size()) !== size) {
      if (tries < MOST_TRIES) continue;
      throw new AppError('BUSY', AUDITOR_ANSWERS.keptChanging);
    }
    const rows = all.filter((row) => wanted === undefined || row.some((cell) => cell.toLowerCase().includes(wanted)));
    return {
      ...{ question, title, clause, columns: [...columns], rows: rows.map((row) => [...row]) },
      ...{ from: from ?? null, to: to ?? null, about: about ?? null },
      head: { size, root: await read.ledger.root(size) },
    };
  }
}

import { Injectable } from '@nestjs/common';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { AUDITOR_QUESTIONS, type AuditorQuestionName } from '../report/phrases/auditor-questions.js';
import { Store } from '../store/store.js';
import type { AuditorAnswer } from './auditor-answer.js';
import { QUESTIONS } from './auditor-questions.js';

/** What a question was asked for: days of UTC, and a text that a row has to hold, whatever its capitals. */
export interface AuditorAsked {
  readonly from?: string | undefined;
  readonly to?: string | undefined;
  readonly about?: string | undefined;
}

const DAY_MS = 86_400_000;
const MOST_TRIES = 3;

/** Answers what auditors ask. */
@Injectable()
export class AuditorAnswers {
  constructor(
    private readonly store: Store,
    private readonly current: CurrentAssessments,
  ) {}

  async answer(question: AuditorQuestionName, { from, to, about }: AuditorAsked): Promise<AuditorAnswer> {
    const first = from === undefined ? Number.NEGATIVE_INFINITY : Date.parse(from);
    const last = to === undefined ? Number.POSITIVE_INFINITY : Date.parse(to) + DAY_MS;
    const within = (moment: string) => Date.parse(moment) >= first && Date.parse(moment) < last;
    const wanted = about?.toLowerCase();
    const { title, clause, columns } = AUDITOR_QUESTIONS[question];
    const { read } = this.store;
    for (let tries = 1; ; tries += 1) {
      const size = await read.ledger.size();
      const all = await QUESTIONS[question]({ read, current: this.current, within });
      // What came in meanwhile may stand in some rows and not in others.
      if (tries < MOST_TRIES && (await read.ledger.size()) !== size) continue;
      const rows = all.filter((row) => wanted === undefined || row.some((cell) => cell.toLowerCase().includes(wanted)));
      return {
        ...{ question, title, clause, columns: [...columns], rows: rows.map((row) => [...row]) },
        ...{ from: from ?? null, to: to ?? null, about: about ?? null },
        head: { size, root: await read.ledger.root(size) },
      };
    }
  }
}

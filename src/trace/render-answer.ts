import { canonicalJson, digestOf, sha256Hex } from '../dossier/canonical.js';
import { timeText } from '../dossier/time-text.js';
import type { RecordIdentity } from '../pdf/identity.js';
import type { RecordPage } from '../pdf/page.js';
import { renderTwice } from '../pdf/render.js';
import { ANSWER_PAPER, IMPACT_PAPER, RECALL_PAPER, TRACE_PAPER } from '../report/phrases/answer-paper.js';
import { AUDITOR_PAPER } from '../report/phrases/auditor-questions.js';
import { PAGE_WORDS } from '../report/phrases/page-words.js';
import { ANSWER_FILE, type CarriedAnswer, headOf, type Told } from './carried-answer.js';
import type { ImpactAnswer } from './impact-answer.js';
import { drawImpact } from './impact-report.js';
import { drawQuestion } from './question-report.js';
import { drawRecall } from './recall-report.js';
import { drawTrace, narrowedText } from './trace-report.js';

/** What stands in the head of each page. */
export function numberOf(told: Told): string {
  switch (told.what) {
    case 'trace':
      return TRACE_PAPER.number(told.report.asked);
    case 'recall':
      return told.report.recall;
    case 'impact':
      return IMPACT_PAPER.number(told.report.cause.key);
    case 'question':
      return AUDITOR_PAPER.number(told.report.title);
  }
}

/** Draws an answer with all that it carries, unsealed. The same answer gives the same bytes. */
export function renderAnswer(carried: CarriedAnswer): Promise<Buffer> {
  const { told } = carried;
  const text = canonicalJson(carried);
  return renderTwice(identityOf(carried, sha256Hex(text)), (page) => {
    drawHead(page, carried);
    if (told.what === 'trace') drawTrace(page, told);
    else if (told.what === 'recall') drawRecall(page, told.report);
    else if (told.what === 'impact') drawImpact(page, told.report);
    else drawQuestion(page, told.report);
    page.paragraph(ANSWER_PAPER.howToCheck(ANSWER_FILE), { small: true });
    page.attach({
      name: ANSWER_FILE,
      bytes: Buffer.from(text, 'utf8'),
      mediaType: 'application/json',
      relationship: 'Source',
      description: ANSWER_PAPER.attached,
    });
  });
}

function identityOf(carried: CarriedAnswer, enclosure: string): RecordIdentity {
  const { told, demo, printedAt, printedBy, program } = carried;
  const common = {
    ...{ number: numberOf(told), author: printedBy, digest: digestOf(told), enclosure, program, words: PAGE_WORDS },
    printedAt: new Date(printedAt),
  };
  switch (told.what) {
    case 'trace': {
      const { asked, head } = told.report;
      const titles = { title: TRACE_PAPER.title(asked, demo), subject: TRACE_PAPER.subject(asked) };
      return { ...common, ...titles, revision: String(head.size), state: 'final' };
    }
    case 'impact': {
      const { cause, head } = told.report;
      const titles = { title: IMPACT_PAPER.title(cause.key, demo), subject: IMPACT_PAPER.subject(cause.key) };
      return { ...common, ...titles, revision: String(head.size), state: 'final' };
    }
    case 'question': {
      const { title, clause, head } = told.report;
      const titles = { title: AUDITOR_PAPER.title(title, demo), subject: AUDITOR_PAPER.lead(clause) };
      return { ...common, ...titles, revision: String(head.size), state: 'final' };
    }
    case 'recall': {
      const { recall, drill, closed, query, revision } = told.report;
      const titles = {
        title: RECALL_PAPER.title(recall, drill, closed, demo),
        subject: RECALL_PAPER.subject(query),
      };
      return { ...common, ...titles, revision: String(revision), state: closed ? 'final' : 'not-final' };
    }
  }
}

function drawHead(page: RecordPage, carried: CarriedAnswer): void {
  const { told, demo, named, ledger, printedAt, printedBy, program } = carried;
  const head = headOf(told);
  if (told.what === 'trace') page.title(TRACE_PAPER.title(told.report.asked, demo), TRACE_PAPER.lead);
  else if (told.what === 'impact') page.title(IMPACT_PAPER.title(told.report.cause.key, demo), IMPACT_PAPER.lead);
  else if (told.what === 'question')
    page.title(AUDITOR_PAPER.title(told.report.title, demo), AUDITOR_PAPER.lead(told.report.clause));
  else {
    const { recall, drill, closed } = told.report;
    page.title(RECALL_PAPER.title(recall, drill, closed, demo), RECALL_PAPER.lead(drill));
  }
  const narrowed = told.what === 'trace' ? narrowedText(told.report) : undefined;
  page.facts([
    ...(told.what === 'trace' ? [[TRACE_PAPER.asked, told.report.asked] as const] : []),
    ...(told.what === 'impact' ? [[IMPACT_PAPER.asked, causeText(told.report)] as const] : []),
    ...(narrowed === undefined ? [] : [[TRACE_PAPER.narrowedTo, narrowed] as const]),
    [ANSWER_PAPER.asOf, ANSWER_PAPER.asOfEntry(head.size)],
    [ANSWER_PAPER.root, head.root],
    [ANSWER_PAPER.proven, ANSWER_PAPER.provenOf(named.length, ledger.size)],
    [ANSWER_PAPER.printed, ANSWER_PAPER.printedOf(timeText(printedAt), printedBy)],
    [ANSWER_PAPER.program, program],
  ]);
}

const causeText = ({ cause: { title, key, name } }: ImpactAnswer): string => `${title} ${key}, ${name}`;

import type { CheckResult, UnitResult } from '../../assessment/assessment.js';
import { NotFoundError } from '../../base/errors.js';
import type { Facts } from '../../dossier/facts.js';
import type { Implant } from '../../kinds/lot.js';
import type { RecordIdentity } from '../../pdf/identity.js';
import { DECISION } from '../../report/phrases/decision.js';
import { PAGE_WORDS } from '../../report/phrases/page-words.js';
import { PAPER } from '../../report/phrases/paper.js';

/** What people decided on an implant, and what follows for papers. */
export interface DecidedUnit {
  readonly words: string;
  /** It may leave the maker. */
  readonly isReleased: boolean;
  /** A label may be put on its pack, which comes before it may leave. */
  readonly mayBeLabelled: boolean;
}

/** What a paper is made from. It shows what is; it decides nothing. */
export interface PaperContent {
  readonly facts: Facts;
  readonly dossierSha256: string;
  readonly units: readonly UnitResult[];
  readonly checks: readonly CheckResult[];
  /** What people decided on each implant, in words; an implant that is missing is not decided. */
  readonly decisions: ReadonlyMap<string, DecidedUnit>;
  readonly program: string;
  readonly printedAt: string;
  readonly printedBy: string;
}

/** @throws NotFoundError when the lot has no implant of this serial. */
export function implantOf({ facts }: PaperContent, serial: string): Implant {
  const found = facts.lot.body.implants.find((implant) => implant.serial === serial);
  if (!found) throw new NotFoundError(`implant of lot ${facts.lot.body.lot}`, serial);
  return found;
}

export const isReleased = ({ decisions }: PaperContent, serial: string): boolean =>
  decisions.get(serial)?.isReleased === true;

export const mayBeLabelled = ({ decisions }: PaperContent, serial: string): boolean =>
  decisions.get(serial)?.mayBeLabelled === true;

export const decisionText = ({ decisions }: PaperContent, serial: string): string =>
  decisions.get(serial)?.words ?? DECISION.open;

/** A paper is a draft while one of its units may not go as far as the paper is meant for. */
export function paperIdentity(
  content: PaperContent,
  paper: {
    readonly number: string;
    readonly title: string;
    readonly serials: readonly string[];
    readonly mayGo: typeof isReleased;
  },
): RecordIdentity {
  const { facts, dossierSha256, printedAt, program } = content;
  return {
    number: paper.number,
    revision: '1',
    title: `${paper.title}${facts.dossier.demo ? PAPER.demo : ''}`,
    subject: PAPER.subject(facts.lot.body.lot, facts.family.body.family),
    author: facts.family.body.manufacturer?.name ?? facts.family.body.title,
    digest: dossierSha256,
    printedAt: new Date(printedAt),
    program,
    state: paper.serials.every((serial) => paper.mayGo(content, serial)) ? 'final' : 'draft',
    words: PAGE_WORDS,
  };
}

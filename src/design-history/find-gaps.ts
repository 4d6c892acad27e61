import { digestOf } from '../dossier/canonical.js';
import { commonFields } from '../kinds/common-fields.js';
import type { EntryRef } from '../kinds/references.js';
import type { DesignFacts } from './design-facts.js';
import { DesignIndex } from './design-index.js';
import { GAP_RULES } from './gaps/catalogue.js';
import type { GapCode } from './gaps/gap-code.js';
import type { GapDraft } from './gaps/gap-rule.js';
import { historyMissing } from './gaps/history-missing.js';

/** How a gap stands: only one with an answer that is approved and has not ended stands no more. */
export const GAP_STATES = ['open', 'answer lapsed', 'answer not approved', 'answered'] as const;
export type GapState = (typeof GAP_STATES)[number];

export interface Gap {
  /** SHA-256 over rule, subjects and detail: what an answer names. */
  readonly id: string;
  readonly rule: GapCode;
  readonly clause: string;
  readonly subjects: readonly EntryRef[];
  readonly detail: string | null;
  readonly facts: Readonly<Record<string, string>>;
  /** Day on which it is due or ends. */
  readonly by: string | null;
  /** Codes of people; none where no document names one. */
  readonly owners: readonly string[];
  readonly state: GapState;
  readonly answer: { readonly justification: string; readonly until: string | null; readonly by: string } | null;
}

/** What a gap is known by, so that an answer is on this one and on no other. */
export const gapId = (rule: string, subjects: readonly EntryRef[], detail: string | null): string =>
  digestOf({ rule, subjects: subjects.map(({ kind, key }) => ({ kind, key })), detail });

/**
 * Everything that the design history of a family lacks on that day, in the order of the rules. What is on record in which
 * order changes nothing.
 * @param design the same facts, where whoever asks has laid them together already.
 */
export function findGaps(facts: DesignFacts, design: DesignIndex = new DesignIndex(facts)): Gap[] {
  // Where nothing is written down, each characteristic without an input would be told for nothing.
  const rules = design.hasHistory ? GAP_RULES : [historyMissing];
  return rules.flatMap((rule) => {
    const drafts = rule.find(design).map((draft) => gapOf(design, rule, draft));
    return drafts.sort((a, b) => compare(placeOf(a), placeOf(b)));
  });
}

/** Those that somebody has still to see to. */
export const openGaps = (gaps: readonly Gap[]): Gap[] => gaps.filter(({ state }) => state !== 'answered');

function gapOf(design: DesignIndex, { code, clause }: { code: GapCode; clause: string }, draft: GapDraft): Gap {
  const { subjects, detail = null, facts = {}, by = null, owners = ownersOf(design, subjects[0]) } = draft;
  const id = gapId(code, subjects, detail);
  return { id, rule: code, clause, subjects, detail, facts, by, owners, ...answerTo(design, id) };
}

/** Whoever signed the document as its author, else who is said to have approved it. */
function ownersOf(design: DesignIndex, subject: EntryRef): readonly string[] {
  const latest = design.latest(subject);
  if (latest === undefined) return [];
  if (latest.authors.length > 0) return latest.authors;
  const approver = latest.approvedBy ?? commonFields(latest.body).approval?.by;
  return approver === undefined ? [] : [approver];
}

function answerTo(design: DesignIndex, id: string): Pick<Gap, 'state' | 'answer'> {
  const found = design.answers.get(id);
  if (found === undefined) return { state: 'open', answer: null };
  const { justification, until = null, given } = found.body;
  const answer = { justification, until, by: given.by };
  if (until !== null && until < design.today) return { state: 'answer lapsed', answer };
  return { state: found.approvedBy === null ? 'answer not approved' : 'answered', answer };
}

const placeOf = ({ subjects, detail }: Gap): string =>
  [...subjects.map(({ kind, key }) => `${kind}\u0000${key}`), detail ?? ''].join('\u0000');
const compare = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

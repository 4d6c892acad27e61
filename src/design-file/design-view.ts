import type { Member } from '../design-history/baselines.js';
import { computedClaims } from '../design-history/claims.js';
import type { DesignFacts, DesignRevision } from '../design-history/design-facts.js';
import { DesignIndex } from '../design-history/design-index.js';
import { type EntryTie, type EntryTies, toldOnce } from '../design-history/entry-ties.js';
import { lotsOf } from '../design-history/studies.js';
import { MATRIX_COLUMNS, type TraceRow, traceMatrix } from '../design-history/trace-matrix.js';
import { HISTORY_KINDS } from '../kinds/design-history/history-kinds.js';
import { type Said, saidBy } from '../report/document-words.js';
import { figureView } from '../report/figure-view.js';
import { matrixFigures } from '../report/matrix-figure.js';
import { designChangeAddress, designEntryAddress, findAddress, lotAddress } from '../report/page-addresses.js';
import { BASELINE_LINES } from '../report/phrases/baselines.js';
import { capital } from '../report/phrases/capital.js';
import { CHANGE_FORM } from '../report/phrases/design-changes.js';
import { DESIGN_CLAIMS } from '../report/phrases/design-claims.js';
import { DESIGN_PAGE } from '../report/phrases/design-page.js';
import { placeText } from '../report/phrases/field-words.js';
import { entryText } from '../report/phrases/kinds.js';
import { TIES_IN_WORDS } from '../report/phrases/ties.js';
import type { Comparison } from './comparison.js';
import type { DesignAnswer, DeviceFileAnswer, GapAnswered } from './design-answer.js';

/** What the pages of a design history show. */

interface Linked {
  readonly text: string;
  readonly href: string;
}

const linked =
  (family: string, kind: string) =>
  (key: string): Linked => ({ text: key, href: designEntryAddress(family, { kind, key }) });

/** The page of an entry of the design: a lot and a change have pages of their own. */
const hrefOf = (family: string, { kind, key }: { readonly kind: string; readonly key: string }): string =>
  kind === 'lot'
    ? lotAddress(key)
    : kind === 'design-change'
      ? designChangeAddress(family, key)
      : designEntryAddress(family, { kind, key });

const lotLink = (lot: string): Linked => ({ text: lot, href: lotAddress(lot) });

const gapRow = (family: string, gap: GapAnswered) => ({
  ...gap,
  of: gap.subjects.map(({ kind, key }) => ({
    text: entryText(kind, key, null),
    href: hrefOf(family, { kind, key }),
  })),
  who: gap.owners.join(', '),
  answerSays: gap.answer === null ? null : DESIGN_PAGE.answer(gap.answer),
});

/** Ways from need to test, the title of a need where it is named first. */
function wayRows(family: string, matrix: DesignAnswer['matrix'], names: DesignAnswer['names']) {
  const of = (kind: string) => linked(family, kind);
  const one = (kind: string, key: string | null): Linked[] => (key === null ? [] : [of(kind)(key)]);
  return matrix.map((row, index) => ({
    need: one('user-need', row.need),
    title: row.need === null || row.need === matrix[index - 1]?.need ? '' : (names[`user-need ${row.need}`] ?? ''),
    others: [
      one('design-input', row.input),
      one('design-output', row.output),
      row.verifiedBy.map(of('design-study')),
      row.validatedBy.map(of('design-study')),
      row.controls.map(of('risk-control')),
    ],
  }));
}

export function designView(answer: DesignAnswer) {
  const { family, asOf, open, gaps, matrix, back, names, changes, baselines, lots } = answer;
  const claims = answer.claims.filter(({ why }) => why !== 'done elsewhere');
  const elsewhere = answer.claims.filter(({ why }) => why === 'done elsewhere');
  const of = (kind: string) => linked(family, kind);
  return {
    family,
    says: DESIGN_PAGE.says(asOf, open, gaps.length - open),
    gaps: gaps.map((gap) => gapRow(family, gap)),
    figures: matrixFigures(family, matrix, back, gaps).map((figure, index) =>
      figureView(figure, DESIGN_PAGE.matrixFigure, `matrix-${index}`),
    ),
    matrix: wayRows(family, matrix, names),
    back: back.map((row) => ({
      study: of('design-study')(row.study),
      title: names[`design-study ${row.study}`] ?? '',
      result: row.result,
      others: [
        row.outputs.map(of('design-output')),
        row.inputs.map(of('design-input')),
        row.needs.map(of('user-need')),
        row.controls.map(of('risk-control')),
        row.lots.map(lotLink),
      ],
    })),
    claims: claims.map((claim) => ({ ...claim, of: of('design-study')(claim.study) })),
    elsewhere: elsewhere.map(({ study }) => of('design-study')(study)),
    changes: changes.map(({ change, title, lines, answered, state }) => ({
      ...{ change, title, href: designChangeAddress(family, change) },
      says: CHANGE_FORM.says({ lines, answered }, state),
    })),
    baselines: baselines.map((one) => ({
      name: one.name,
      says: BASELINE_LINES.says(one),
      entry: designEntryAddress(family, { kind: 'baseline', key: `${family}:${one.name}` }),
    })),
    lots: lots.map((one) => ({
      ...one,
      href: lotAddress(one.lot),
      built: one.builtAt?.slice(0, 10) ?? BASELINE_LINES.notBuilt,
      baseline: one.baseline ?? BASELINE_LINES.noBaseline,
    })),
  };
}

export function comparisonView(found: Comparison) {
  const { family, added, removed, revised, same } = found;
  const row = (member: Member) => ({
    text: BASELINE_LINES.member(member),
    href: designEntryAddress(family, member),
  });
  return {
    says: BASELINE_LINES.compared(found),
    isSame: added.length + removed.length + revised.length === 0,
    same: BASELINE_LINES.same(same),
    added: added.map(row),
    removed: removed.map(row),
    revised: revised.map(({ before, after, changes }) => ({
      ...{ says: BASELINE_LINES.revision(before, after), href: designEntryAddress(family, after) },
      changes: changes.map((change) => ({ ...change, what: placeText(change.what) })),
    })),
  };
}

/** What stands in the heading of an entry, or in a place of its own. */
const TOLD = ['kind', 'format', 'revision', 'family', 'title', 'approval', 'reason', 'touches', 'members'];

export function entryView(facts: DesignFacts, { entry, names, namedBy }: EntryTies, gaps: readonly GapAnswered[]) {
  const design = new DesignIndex(facts);
  const { family } = facts;
  const tieRow = ({ tie, other: { kind, key }, name, revision, isCurrent }: EntryTie) => ({
    tie: TIES_IN_WORDS[tie],
    of: [
      {
        text: entryText(kind, key, null),
        href: name === null ? (kind === 'lot' ? lotAddress(key) : findAddress(key)) : hrefOf(family, { kind, key }),
      },
    ],
    name: name ?? '',
    revision: DESIGN_PAGE.pinned(revision, isCurrent),
  });
  const ways = waysThrough(design, entry);
  const studies = ways.flatMap(({ verifiedBy, validatedBy }) => [...verifiedBy, ...validatedBy]);
  const shown = new Set(isStudy(entry) ? [entry.key] : studies);
  const lots = design.current('design-study').filter(({ key }) => shown.has(key));
  return {
    title: capital(entryText(entry.kind, entry.key, null)),
    name: entry.name,
    says: DESIGN_PAGE.standing(entry),
    document: findAddress(entry.key),
    said: HISTORY_KINDS.some((kind) => kind === entry.kind) ? saidBy(entry, TOLD).map(sentenceOf(entry)) : [],
    gaps: gaps.map((gap) => gapRow(family, gap)),
    claims: isStudy(entry)
      ? computedClaims(design)
          .filter(({ study }) => study === entry.key)
          .map((claim) => ({ says: DESIGN_CLAIMS.says(claim), from: DESIGN_CLAIMS.from(claim) }))
      : [],
    ways: wayRows(family, ways as DesignAnswer['matrix'], {}),
    names: inOneRow(names.map(tieRow)),
    namedBy: toldOnce(namedBy).map(tieRow),
    lots: lots.flatMap((study) => lotsOf(design, study.body).map((lot) => ({ ...lotLink(lot), study: study.key }))),
  };
}

/** A criterion is told as a sentence, as on paper: field by field the reader would have to put it together. */
const sentenceOf = (entry: EntryTies['entry']) => (said: Said) =>
  said.field === 'criterion' && isStudy(entry)
    ? { ...said, text: DESIGN_CLAIMS.criterion(entry.body.criterion) }
    : said;

const isStudy = (entry: EntryTies['entry']): entry is DesignRevision<'design-study'> => entry.kind === 'design-study';

/** Rows of the matrix in which an entry stands. */
function waysThrough(design: DesignIndex, { kind, key }: EntryTies['entry']): TraceRow[] {
  const columns = MATRIX_COLUMNS.filter(([, of]) => of === kind).map(([column]) => column);
  return traceMatrix(design).filter((row) => columns.some((column) => [row[column]].flat().includes(key)));
}

type TieRow = { tie: string; of: Linked[]; name: string; revision: string };

/** What of one tie has neither title nor revision, such as ten coupons, in one row. */
function inOneRow(rows: readonly TieRow[]): TieRow[] {
  const told: TieRow[] = [];
  for (const row of rows) {
    const before = told.at(-1);
    const isAlike = [before, row].every((one) => one?.tie === row.tie && one.name === '' && one.revision === '');
    if (isAlike) told.splice(-1, 1, { ...before!, of: [...before!.of, ...row.of] });
    else told.push(row);
  }
  return told;
}

export function deviceFileView({ family, asOf, documents }: DeviceFileAnswer) {
  return {
    asOf,
    documents: documents.map(({ kind, key, revision, name, approvedBy, approvedAt, digest }) => ({
      of: { text: entryText(kind, key, revision), href: designEntryAddress(family, { kind, key }) },
      ...{ name, by: approvedBy ?? '', at: approvedAt?.slice(0, 10) ?? '', digest: digest.slice(0, 12) },
    })),
  };
}

import type { Member } from '../design-history/baselines.js';
import type { DesignFacts } from '../design-history/design-facts.js';
import { DesignIndex } from '../design-history/design-index.js';
import type { EntryTie, EntryTies } from '../design-history/entry-ties.js';
import { lotsOf } from '../design-history/studies.js';
import { designStudy } from '../kinds/design-history/design-study.js';
import { readBody } from '../kinds/formats.js';
import { designEntryAddress, findAddress, lotAddress } from '../report/page-addresses.js';
import { BASELINE_LINES } from '../report/phrases/baselines.js';
import { DESIGN_PAGE } from '../report/phrases/design-page.js';
import { entryText } from '../report/phrases/kinds.js';
import { TIES_IN_WORDS } from '../report/phrases/ties.js';
import type { Comparison } from './baselines.js';
import type { DesignAnswer, DeviceFileAnswer, GapAnswered } from './design-answer.js';

/** What the pages of a design history show. */

interface Linked {
  readonly text: string;
  readonly href: string;
}

const linked =
  (family: string, kind: string) =>
  (key: string): Linked => ({ text: key, href: designEntryAddress(family, { kind, key }) });

const lotLink = (lot: string): Linked => ({ text: lot, href: lotAddress(lot) });

const gapRow = (family: string, gap: GapAnswered) => ({
  ...gap,
  of: gap.subjects.map(({ kind, key }) => ({
    text: entryText(kind, key, null),
    href: kind === 'lot' ? lotAddress(key) : designEntryAddress(family, { kind, key }),
  })),
  who: gap.owners.join(', '),
  answerSays: gap.answer === null ? null : DESIGN_PAGE.answer(gap.answer),
});

export function designView({ family, asOf, open, gaps, matrix, back, claims, baselines, lots }: DesignAnswer) {
  const of = (kind: string) => linked(family, kind);
  const one = (kind: string, key: string | null): Linked[] => (key === null ? [] : [of(kind)(key)]);
  return {
    family,
    says: DESIGN_PAGE.says(asOf, open, gaps.length - open),
    gaps: gaps.map((gap) => gapRow(family, gap)),
    matrix: matrix.map((row) => ({
      need: one('user-need', row.need),
      others: [
        one('design-input', row.input),
        one('design-output', row.output),
        row.verifiedBy.map(of('design-study')),
        row.validatedBy.map(of('design-study')),
        row.controls.map(of('risk-control')),
      ],
    })),
    back: back.map((row) => ({
      study: of('design-study')(row.study),
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
      ...{ says: BASELINE_LINES.revised(before, after), href: designEntryAddress(family, after), changes },
    })),
  };
}

export function entryView(facts: DesignFacts, { entry, names, namedBy }: EntryTies, gaps: readonly GapAnswered[]) {
  const design = new DesignIndex(facts);
  const tieRow = ({ tie, other: { kind, key }, name, revision, isCurrent }: EntryTie) => ({
    tie: TIES_IN_WORDS[tie],
    of: {
      text: entryText(kind, key, null),
      href:
        name === null
          ? kind === 'lot'
            ? lotAddress(key)
            : findAddress(key)
          : designEntryAddress(facts.family, { kind, key }),
    },
    name: name ?? '',
    revision: DESIGN_PAGE.pinned(revision, isCurrent),
  });
  return {
    title: entryText(entry.kind, entry.key, null),
    name: entry.name,
    says: DESIGN_PAGE.standing(entry),
    document: findAddress(entry.key),
    gaps: gaps.map((gap) => gapRow(facts.family, gap)),
    names: names.map(tieRow),
    namedBy: namedBy.map(tieRow),
    lots: entry.kind === 'design-study' ? lotsOf(design, readBody(designStudy, entry.body)).map(lotLink) : [],
  };
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

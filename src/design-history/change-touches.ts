import { digestOf } from '../dossier/canonical.js';
import type { DesignChange, TouchedLine } from '../kinds/design-history/design-change.js';
import type { RevisionRef } from '../kinds/references.js';
import { type DesignRevision, refText } from './design-facts.js';
import { type DesignIndex, linksOf } from './design-index.js';

/** Digest under which a list is frozen: answers come later and change nothing of it. */
export const touchedSha256 = (lines: readonly TouchedLine[]): string =>
  digestOf(lines.map(({ sort, key, says }) => ({ sort, key, says })));

/** What a line is known by, whatever its answer: in one line, so that a form sends it back as it came. */
export const lineName = ({ sort, key, says }: TouchedLine): string =>
  `${sort} ${key}: ${says}`.replaceAll(/\s+/g, ' ').trim();

/** A lot that was made by what is changed: where its units are, and who holds those that left. */
export interface TouchedLot {
  readonly lot: string;
  /** Where its units are, in words. */
  readonly places: string;
  readonly holders: readonly string[];
}

/** How a line says of a document why it is touched. */
export interface TouchWords {
  readonly names: (changed: RevisionRef) => string;
  readonly namedBy: (changed: RevisionRef) => string;
  readonly restsOn: (lots: readonly string[]) => string;
  readonly verifiedBy: (studies: readonly string[]) => string;
  readonly states: (characteristic: string) => string;
  readonly holds: (lots: readonly string[]) => string;
}

/**
 * What a change touches, both ways: lots made by what it does away with and whoever holds their units, documents that name
 * it and that it names, studies on these lots, risk controls that these studies show to work, and statements of capability.
 */
export function changeTouches(
  design: DesignIndex,
  { changes }: Pick<DesignChange, 'changes'>,
  lots: readonly TouchedLot[],
  words: TouchWords,
): TouchedLine[] {
  const made = new Set(lots.map(({ lot }) => lot));
  const found = new Map<string, TouchedLine>();
  const add = (sort: TouchedLine['sort'], key: string, says: string) => {
    if (!found.has(`${sort} ${key}`)) found.set(`${sort} ${key}`, { sort, key, says });
  };
  const document = (one: DesignRevision, says: string) =>
    add(
      one.kind === 'design-study' ? 'study' : one.kind === 'risk-control' || one.kind === 'hazard' ? 'risk' : 'entry',
      refText(one),
      says,
    );
  for (const { lot, places } of lots) add('lot', lot, places);
  for (const changed of changes) {
    for (const { from } of design.tiesTo(changed)) {
      if (!OF_THEN.has(from.kind)) document(from, words.names(changed));
    }
    const own = design.revision(changed);
    for (const link of own === undefined ? [] : linksOf(own)) {
      const named = link.revision === undefined ? undefined : design.latest(link);
      if (named !== undefined) document(named, words.namedBy(changed));
    }
    if (changed.kind === 'specification') {
      for (const { characteristic } of design.facts.statements) {
        add('statement', `${design.family}:${characteristic}`, words.states(characteristic));
      }
    }
  }
  const studies = design.current('design-study').flatMap((study) => {
    const named = [...(study.body.lots ?? []), ...partsOf(design, study)].filter((lot) => made.has(lot));
    if (named.length > 0) document(study as DesignRevision, words.restsOn([...new Set(named)].sort()));
    return found.has(`study ${refText(study)}`) ? [study] : [];
  });
  for (const study of studies) {
    for (const control of design.naming('risk-control', 'shown by', study)) {
      document(control as DesignRevision, words.verifiedBy([study.key]));
    }
  }
  for (const holder of [...new Set(lots.flatMap(({ holders }) => holders))].sort()) {
    add(
      'to be told',
      holder,
      words.holds(lots.filter(({ holders }) => holders.includes(holder)).map(({ lot }) => lot)),
    );
  }
  return [...found.values()];
}

/** Documents that tell of what was then: nothing of them is touched. */
const OF_THEN: ReadonlySet<string> = new Set(['baseline', 'design-change', 'design-review', 'gap-answer']);

const partsOf = ({ facts }: DesignIndex, { body }: DesignRevision<'design-study'>): string[] =>
  [...(body.implants ?? []), ...(body.coupons ?? [])].flatMap((part) => facts.lotOfPart.get(part) ?? []);

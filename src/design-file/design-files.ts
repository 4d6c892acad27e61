import { Injectable } from '@nestjs/common';
import { CapabilityStatement } from '../assessment/family/statement.js';
import { isAnsweredBy } from '../assessment/family/study-notes.js';
import { NotFoundError } from '../base/errors.js';
import { parseForm } from '../base/later-form.js';
import type { DesignFacts, DesignRevision, ReviewedStatement } from '../design-history/design-facts.js';
import { DesignIndex } from '../design-history/design-index.js';
import { namesOfMaterials, plainScope } from '../design-history/suppliers.js';
import { approvalStanding } from '../dossier/approval-standing.js';
import { type KindName, kindNamed } from '../kinds/catalogue.js';
import { SIMULATION } from '../kinds/degradation/simulation.js';
import { type DesignStudy, designStudy } from '../kinds/design-history/design-study.js';
import type { GapAnswer } from '../kinds/design-history/gap-answer.js';
import { DOCUMENTS_OF_FAMILY, HISTORY_KINDS } from '../kinds/design-history/history-kinds.js';
import { readBody } from '../kinds/formats.js';
import { materialSpecification } from '../kinds/material-specification.js';
import { specification } from '../kinds/specification.js';
import type { StoredRevision } from '../store/entries.js';
import { Store } from '../store/store.js';
import { type AsOf, nowAsOf } from './as-of.js';
import { type LotMade, lotsMade } from './lots-made.js';
import type { GatheredDesign } from './paper/gather.js';
import { studiedBy } from './studied.js';
import { type Touched, touchedBy } from './touched.js';

/** Kinds whose documents name the family that they are of. */
const OF_FAMILY = [...DOCUMENTS_OF_FAMILY, 'baseline'] as const satisfies KindName[];

const nameOf = ({ kind, key }: { kind: string; key: string }): string => `${kind} ${key}`;

/** Lays together what rules on a design history look at, as it was on record at a moment. */
@Injectable()
export class DesignFiles {
  constructor(private readonly store: Store) {}

  /** @throws NotFoundError when the family was not on record then. */
  async of(family: string, asked?: AsOf): Promise<DesignFacts> {
    const { entries } = this.store.read;
    const asOf = asked ?? (await nowAsOf(this.store));
    const known = new Map<string, StoredRevision[]>();
    const keep = (revisions: readonly StoredRevision[]) => {
      for (const one of revisions) {
        if (one.ledgerSeq > asOf.size) continue;
        known.set(nameOf(one), [...(known.get(nameOf(one)) ?? []), one]);
      }
    };
    const ofFamily = await entries.revisionsTiedTo(OF_FAMILY, { kind: 'family', key: family }, 'of family');
    keep(ofFamily.filter((one) => isOfFamily(one, family)));
    keep(await entries.revisions('family', family));
    if (!known.has(`family ${family}`)) throw new NotFoundError('family', family);
    const read = () => [...known.values()].flat();
    const pinned = new Map(pinnedBy(read()).map((target) => [nameOf(target), target]));
    const others = [...pinned].filter(([name]) => !known.has(name)).map(([, { kind, key }]) => [kind, key] as const);
    keep(await entries.revisionsOf(others));
    keep(await this.ofMaterials(read(), known));
    // No software says for which family it is: what made designs and paths of one made those of all.
    // What something names is known already, and is not kept twice.
    const software = await entries.allRevisions('software');
    const named = new Set(known.keys());
    keep(software.filter((one) => !named.has(nameOf(one))));
    keep((await entries.allRevisions('gap-answer')).filter(({ body }) => answersOne(body, known)));
    const studies = read()
      .filter(({ kind }) => kind === 'design-study')
      .map(({ body }) => readBody(designStudy, body));
    const studied = await studiedBy(this.store.read, studies, asOf.size);
    const compared = new Set(
      [...studied.lots.values()]
        .flatMap(({ exposed }) => exposed?.parts ?? [])
        .flatMap(({ study }) => study?.study ?? []),
    );
    const unread = [...compared].filter((key) => !known.has(`equivalence-study ${key}`));
    keep(await entries.revisionsOf(unread.map((key) => ['equivalence-study', key] as const)));
    const strange = new Set([...studied.lots.values()].map((lot) => lot.family).filter((code) => code !== family));
    keep(await entries.revisionsOf([...strange].map((code) => ['family', code] as const)));
    return {
      family,
      today: asOf.day,
      revisions: await this.standing(read(), asOf.size),
      statements: await this.reviewed(family, studies, asOf.size),
      ...studied,
      simulation: SIMULATION,
    };
  }

  /** Materials that the specifications name, and who was ever approved for one: approvals name a material in words, by no tie. */
  private async ofMaterials(
    revisions: readonly StoredRevision[],
    known: ReadonlyMap<string, unknown>,
  ): Promise<StoredRevision[]> {
    const { entries } = this.store.read;
    const codes = new Set(
      revisions
        .filter(({ kind }) => kind === 'specification')
        .flatMap(({ body }) => readBody(specification, body).materials.map(({ material }) => material)),
    );
    const materials = await entries.revisionsOf([...codes].map((code) => ['material-specification', code] as const));
    const names = namesOfMaterials(
      codes,
      materials.map(({ body }) => readBody(materialSpecification, body).title),
    );
    const suppliers = await entries.allRevisions('supplier');
    const asked = new Set(
      suppliers
        .filter(({ body }) => body.approvals.some(({ scope }) => names.has(plainScope(scope))))
        .map(({ key }) => key),
    );
    return [...materials, ...suppliers.filter(({ key }) => asked.has(key))].filter((one) => !known.has(nameOf(one)));
  }

  /** Every lot of the family, as it stood then. */
  async lotsMade(facts: DesignFacts, asOf?: AsOf): Promise<LotMade[]> {
    return lotsMade(this.store.read, new DesignIndex(facts), asOf ?? (await nowAsOf(this.store)));
  }

  /** What the file of a design tells and carries. */
  async gather(facts: DesignFacts, asOf: AsOf): Promise<GatheredDesign> {
    const { gatherDesign } = await import('./paper/gather.js');
    return gatherDesign(this.store, facts, asOf);
  }

  /** What a change touches. @throws NotFoundError without such a change. */
  touchedBy(facts: DesignFacts, change: string): Promise<Touched> {
    return touchedBy(this.store.read, facts, change);
  }

  /** Families of whose design something is written down, in the order of their codes. */
  families(): Promise<string[]> {
    return this.store.read.entries.keysTiedTo('family', 'of family', HISTORY_KINDS);
  }

  /** Who signed and approved each revision until then, and whether it was withdrawn. */
  private async standing(revisions: readonly StoredRevision[], size: number): Promise<DesignRevision[]> {
    const { signatures, events } = this.store.read;
    const statements = (await signatures.on(revisions.map(({ digest }) => digest)))
      .filter(({ ledgerSeq }) => ledgerSeq <= size)
      .map(({ signed }) => signed.statement);
    const withdrawn = new Set(
      (await events.ofTypes(['document-withdrawn'])).flatMap(({ event, ledgerSeq }) =>
        event.type === 'document-withdrawn' && ledgerSeq <= size
          ? [`${event.kind} ${event.key} ${event.revision}`]
          : [],
      ),
    );
    const bySubject = new Map<string, typeof statements>();
    for (const statement of statements) {
      for (const { digest } of statement.subjects) {
        const already = bySubject.get(digest);
        if (already) already.push(statement);
        else bySubject.set(digest, [statement]);
      }
    }
    return revisions.map((one) => {
      const { kind, key, revision, name, digest, recordedAt, body } = one;
      return {
        ...{ kind, key, revision, name, digest, recordedAt, body },
        ...approvalStanding(one, bySubject.get(digest) ?? []),
        withdrawn: withdrawn.has(`${kind} ${key} ${revision}`),
      };
    });
  }

  /** Statements of capability by which a study sees that it met its criterion: of each characteristic the last reviewed one. */
  private async reviewed(
    family: string,
    studies: readonly DesignStudy[],
    size: number,
  ): Promise<DesignFacts['statements']> {
    const { capabilityStatements, signatures } = this.store.read;
    const asked = studies.filter(({ criterion }) => criterion.by === 'capability statement');
    const found: ReviewedStatement[] = [];
    for (const characteristic of new Set(asked.map(({ criterion }) => criterion.characteristic))) {
      const stated = (await capabilityStatements.of(family, characteristic)).filter(
        ({ ledgerSeq }) => ledgerSeq <= size,
      );
      for (const { number, digest, body } of stated.reverse()) {
        const { study } = parseForm(`statement ${digest}`, CapabilityStatement, JSON.parse(body));
        const isReviewed = (await signatures.on([digest])).some(
          ({ signed: { statement }, ledgerSeq }) =>
            ledgerSeq <= size && statement.meaning === 'reviewed' && isAnsweredBy(study.notes, statement),
        );
        if (!isReviewed) continue;
        found.push({ characteristic, number, digest, lower: study.index.ppkLower });
        break;
      }
    }
    return found;
  }
}

/** Whether a gap is answered of something that the design has. */
const answersOne = ({ subjects }: GapAnswer, known: ReadonlyMap<string, unknown>): boolean =>
  subjects.some((subject) => known.has(nameOf(subject)));

/** Whether this revision names the family: an earlier one may have named another. */
const isOfFamily = ({ kind, body }: StoredRevision, family: string): boolean =>
  (kindNamed(kind)?.links(body) ?? []).some((link) => link.name === 'of family' && link.key === family);

/** Entries that documents pin to a revision, and machines of process validations. */
const pinnedBy = (revisions: readonly StoredRevision[]) =>
  revisions.flatMap(({ kind, body }) =>
    (kindNamed(kind)?.links(body) ?? []).filter(
      (link) => link.revision !== undefined || (kind === 'process-validation' && link.kind === 'machine'),
    ),
  );

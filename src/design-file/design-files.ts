import { Injectable } from '@nestjs/common';
import { NotFoundError } from '../base/errors.js';
import type { DesignFacts, DesignRevision, StudiedLot } from '../design-history/design-facts.js';
import { covers } from '../dossier/statement.js';
import { type KindName, kindNamed } from '../kinds/catalogue.js';
import { commonFields } from '../kinds/common-fields.js';
import { type DesignStudy, designStudy } from '../kinds/design-history/design-study.js';
import { HISTORY_KINDS } from '../kinds/design-history/history-kinds.js';
import { readBody } from '../kinds/formats.js';
import type { StoredRevision } from '../store/entries.js';
import { Store } from '../store/store.js';
import { type AsOf, nowAsOf } from './as-of.js';

/** Kinds whose documents name the family that they are of. */
const OF_FAMILY = [
  ...HISTORY_KINDS,
  'process-validation',
  'recipe',
  'specification',
  'design-envelope',
  'baseline',
] as const satisfies KindName[];

/** Kinds that belong to the site: rules look at what of them the family uses. */
const OF_SITE = ['family', 'supplier', 'material-specification', 'gap-answer'] as const satisfies KindName[];

const nameOf = ({ kind, key }: { kind: string; key: string }): string => `${kind} ${key}`;

/** Lays together what rules on a design history look at, as it was on record at a moment. */
@Injectable()
export class DesignFiles {
  constructor(private readonly store: Store) {}

  /** @throws NotFoundError when the family was not on record then. */
  async of(family: string, asOf: AsOf = nowAsOf(this.store.clock)): Promise<DesignFacts> {
    const { entries } = this.store.read;
    const known = new Map<string, StoredRevision[]>();
    const keep = (revisions: readonly StoredRevision[]) => {
      for (const one of revisions) {
        if (Date.parse(one.recordedAt) > asOf.moment) continue;
        known.set(nameOf(one), [...(known.get(nameOf(one)) ?? []), one]);
      }
    };
    for (const kind of OF_FAMILY) {
      keep((await entries.allRevisions(kind)).filter(({ body }) => body.family === family));
    }
    for (const kind of OF_SITE) keep(await entries.allRevisions(kind));
    if (!known.has(`family ${family}`)) throw new NotFoundError('family', family);
    for (const target of pinnedBy([...known.values()].flat())) {
      if (!known.has(nameOf(target))) keep(await entries.revisions(target.kind, target.key));
    }
    const studies = [...known.values()].flat().filter(({ kind }) => kind === 'design-study');
    return {
      family,
      today: asOf.day,
      revisions: await this.standing([...known.values()].flat(), asOf.moment),
      ...(await this.studied(
        studies.map(({ body }) => readBody(designStudy, body)),
        asOf.moment,
      )),
    };
  }

  /** Families of whose design something is written down, in the order of their codes. */
  async families(): Promise<string[]> {
    const found = new Set<string>();
    for (const kind of HISTORY_KINDS) {
      for (const { body } of await this.store.read.entries.list(kind)) found.add(body.family);
    }
    return [...found].sort();
  }

  /** Who signed and approved each revision until then, and whether it was withdrawn. */
  private async standing(revisions: readonly StoredRevision[], moment: number): Promise<DesignRevision[]> {
    const { signatures, events } = this.store.read;
    const statements = (await signatures.on(revisions.map(({ digest }) => digest)))
      .map(({ signed }) => signed.statement)
      .filter(({ at }) => Date.parse(at) <= moment);
    const withdrawn = new Set(
      (await events.ofTypes(['document-withdrawn'])).flatMap(({ event, at }) =>
        event.type === 'document-withdrawn' && Date.parse(at) <= moment
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
      const signed = (bySubject.get(digest) ?? []).filter((statement) => covers(statement, digest));
      const by = (meaning: string) =>
        signed.filter((statement) => statement.meaning === meaning).map(({ person }) => person.code);
      const elsewhere = commonFields(body).approval;
      return {
        ...{ kind, key, revision, name, digest, recordedAt, body },
        authors: [...new Set(by('performed'))].sort(),
        approvedBy: by('approved')[0] ?? (elsewhere?.original === undefined ? null : elsewhere.by),
        withdrawn: withdrawn.has(`${kind} ${key} ${revision}`),
      };
    });
  }

  /** Lots and parts that studies name, and what was measured of them until then. */
  private async studied(
    studies: readonly DesignStudy[],
    moment: number,
  ): Promise<Pick<DesignFacts, 'lots' | 'lotOfPart'>> {
    const { entries, results } = this.store.read;
    const lotOfPart = new Map<string, string>();
    for (const kind of ['implant', 'coupon'] as const) {
      const parts = studies.flatMap(({ implants = [], coupons = [] }) => (kind === 'implant' ? implants : coupons));
      for (const part of new Set(parts)) {
        const found = await entries.current(kind, part);
        if (found) lotOfPart.set(part, found.body.lot);
      }
    }
    const lots = new Map<string, StudiedLot>();
    for (const lot of new Set([...studies.flatMap((study) => study.lots ?? []), ...lotOfPart.values()])) {
      const found = await entries.current('lot', lot);
      if (found === undefined) continue;
      const rows = (await results.ofLot(lot)).rows.filter(({ recordedAt }) => Date.parse(recordedAt) <= moment);
      lots.set(lot, {
        family: found.body.family,
        measured: new Set(rows.map(({ characteristic }) => characteristic)),
      });
    }
    return { lots, lotOfPart };
  }
}

/** Entries that documents pin to a revision, and machines of process validations. */
const pinnedBy = (revisions: readonly StoredRevision[]) =>
  revisions.flatMap(({ kind, body }) =>
    (kindNamed(kind)?.links(body) ?? []).filter(
      (link) => link.revision !== undefined || (kind === 'process-validation' && link.kind === 'machine'),
    ),
  );

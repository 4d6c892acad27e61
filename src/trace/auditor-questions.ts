import { isDeepStrictEqual } from 'node:util';
import { revisionKey } from '../dossier/facts.js';
import { type Statement, soleSubject } from '../dossier/statement.js';
import { specimenText } from '../dossier/tables.js';
import { closuresOf } from '../kinds/build-chain.js';
import type { Lot } from '../kinds/lot.js';
import { decisionsOnAllLots } from '../lots/unit-decisions.js';
import { unitStates } from '../lots/unit-states.js';
import { AUDITOR_ANSWERS, type AuditorQuestionName } from '../report/phrases/auditor-questions.js';
import { decisionOutcomeText, meaningText, roleText } from '../report/phrases/codes.js';
import { kindText } from '../report/phrases/kinds.js';
import { reconciledText } from '../report/phrases/recall.js';
import type { StoredRevision } from '../store/entries.js';
import {
  type AskedByAuditor,
  inOrder,
  lotsWithin,
  partsIn,
  type Rows,
  signedOnRevision,
  startOf,
} from './auditor-asked.js';
import { countedUnits, destroyed, known } from './auditor-units.js';
import { coupons, failed, unqualified, values } from './auditor-values.js';
import { findingsTold } from './findings-told.js';

/** What an auditor asks, answered from the store as it stands: rows of texts, in the columns of the question. */
export const QUESTIONS: Readonly<Record<AuditorQuestionName, (asked: AskedByAuditor) => Promise<Rows>>> = {
  lots: allLots,
  counted: countedUnits,
  releases,
  values,
  failed,
  excursions,
  recipes,
  coupons,
  shared,
  unqualified,
  changed,
  destroyed,
  known,
  recalls,
};

async function allLots(asked: AskedByAuditor): Promise<Rows> {
  const decisions = await decisionsOnAllLots(asked.store.read);
  return (await lotsWithin(asked)).map((lot) => {
    const { statements, events } = decisions(lot.lot);
    const serials = lot.implants.map(({ serial }) => serial);
    const states = unitStates(serials, statements, events);
    const count = (is: string) => String(states.filter(({ decision }) => decision === is).length);
    return [
      ...[lot.lot, lot.family, startOf(lot), AUDITOR_ANSWERS.closures(closuresIn(lot))],
      ...[String(serials.length), count('released'), count('rejected'), count('open')],
    ];
  });
}

function closuresIn({ builds, implants, coupons }: Lot) {
  const made = new Set([...implants, ...coupons].flatMap(closuresOf));
  const built = builds.filter(({ state }) => state !== 'planned');
  const continued = new Set(built.flatMap((build) => build.continues?.build ?? []));
  return {
    ...{ built: built.length, planned: builds.length - built.length },
    empty: built.filter(({ build }) => !made.has(build)).length,
    continued: built.filter(({ build }) => continued.has(build)).length,
  };
}

async function releases({ store, within }: AskedByAuditor): Promise<Rows> {
  const signed = (await store.read.signatures.ofKind('lot file')).map((one) => one.signed.statement);
  return signed
    .filter(({ meaning, at }) => (meaning === 'released' || meaning === 'rejected') && within(at))
    .map((statement) => [
      ...[statement.at, soleSubject(statement).key, meaningText(statement.meaning), statement.units.join(' ')],
      ...[statement.person.code, roleText(statement.person.role), soleSubject(statement).digest],
      statement.reason ?? '',
    ]);
}

/** Findings of one sort together, the earliest first. */
async function excursions(asked: AskedByAuditor): Promise<Rows> {
  const rows: string[][] = [];
  const told = findingsTold({ read: asked.store.read, current: asked.current });
  for (const kind of ['log finding', 'log finding group', 'check finding'] as const) {
    for (const { signed } of await asked.store.read.signatures.ofKind(kind)) {
      const { at, outcome, subjects, person, reason } = signed.statement;
      if (outcome !== 'accepted' || !asked.within(at)) continue;
      for (const subject of subjects) {
        const { sort, says, lot } = await told(signed.statement, subject);
        rows.push([
          ...[sort, says, lot, at, subject.key, person.code, roleText(person.role)],
          reason ?? decisionOutcomeText(outcome),
        ]);
      }
    }
  }
  const order = ([sort, , , at]: readonly string[]) => `${sort} ${new Date(at!).toISOString()}`;
  return rows.sort((a, b) => (order(a) < order(b) ? -1 : 1));
}

async function recipes(asked: AskedByAuditor): Promise<Rows> {
  const rows: string[][] = [];
  const approvals = new Map<string, readonly Statement[]>();
  for (const lot of await lotsWithin(asked)) {
    for (const { build, closedAt, state } of lot.builds) {
      if (state === 'planned') continue;
      const used = partsIn(lot, build).map(({ recipe }) => recipe);
      const each = used.filter((one, index) => used.findIndex((other) => isDeepStrictEqual(one, other)) === index);
      for (const { recipe, revision } of each) {
        const name = revisionKey(recipe, revision);
        const approved = approvals.get(name) ?? (await approvalsOf(asked, recipe, revision));
        approvals.set(name, approved);
        const said = approved
          .filter(({ at }) => Date.parse(at) <= Date.parse(closedAt))
          .map(({ person, at }) => AUDITOR_ANSWERS.approvedBy(person.code, at.slice(0, 10)));
        rows.push([build, lot.lot, closedAt, recipe, String(revision), said.join('; ') || AUDITOR_ANSWERS.nobody]);
      }
    }
  }
  return rows;
}

async function approvalsOf(
  { store }: Pick<AskedByAuditor, 'store'>,
  recipe: string,
  revision: number,
): Promise<Statement[]> {
  return (await signedOnRevision(store.read, 'recipe', recipe, revision)).filter(
    ({ meaning }) => meaning === 'approved',
  );
}

async function shared(asked: AskedByAuditor): Promise<Rows> {
  const lotsOf = new Map<string, Set<string>>();
  const add = (kind: string, key: string, lot: string) => {
    const name = JSON.stringify([kind, key]);
    lotsOf.set(name, (lotsOf.get(name) ?? new Set()).add(lot));
  };
  const lots = await lotsWithin(asked);
  const lotOfPart = new Map<string, string>();
  for (const { lot, builds, implants, coupons, steps } of lots) {
    for (const { serial } of implants) lotOfPart.set(serial, lot);
    for (const { coupon } of coupons) lotOfPart.set(coupon, lot);
    for (const { powder, consumables = [] } of builds) {
      for (const { state } of powder) add('powder-state', state, lot);
      for (const { consumable } of consumables) add('consumable', consumable, lot);
    }
    for (const { load } of steps) if (load !== undefined) add('process-load', load, lot);
  }
  for (const { key, body } of await asked.store.read.entries.list('process-load')) {
    for (const part of [...(body.implants ?? []), ...(body.coupons ?? [])]) {
      const lot = lotOfPart.get(part);
      if (lot !== undefined) add('process-load', key, lot);
    }
  }
  return inOrder(
    [...lotsOf]
      .map(([name, among]) => ({ name: JSON.parse(name) as [string, string], among: [...among].sort() }))
      .filter(({ among }) => among.length > 1)
      .map(({ name: [kind, key], among }) => [kindText(kind), key, String(among.length), among.join(' ')]),
  );
}

/** Revisions of a lot and values that came in after the first release of one of its implants for distribution. */
async function changed({ store: { read }, within }: AskedByAuditor): Promise<Rows> {
  const first = new Map<string, string>();
  for (const { signed } of await read.signatures.ofKind('lot file')) {
    const { meaning, step, at } = signed.statement;
    const { key } = soleSubject(signed.statement);
    if (meaning === 'released' && step === 'distribution' && !first.has(key)) first.set(key, at);
  }
  const revisions = new Map<string, StoredRevision[]>();
  for (const one of await read.entries.revisionsOf([...first.keys()].map((lot) => ['lot', lot] as const))) {
    revisions.set(one.key, [...(revisions.get(one.key) ?? []), one]);
  }
  const lastResults = await read.results.lastRecorded();
  const rows: string[][] = [];
  for (const [lot, released] of [...first].sort(([a], [b]) => (a < b ? -1 : 1))) {
    const isLater = (at: string) => Date.parse(at) > Date.parse(released) && within(at);
    for (const { revision, recordedAt, actor, reason } of revisions.get(lot) ?? []) {
      if (isLater(recordedAt))
        rows.push([lot, released, AUDITOR_ANSWERS.lotFile(revision), recordedAt, actor, reason ?? '']);
    }
    // Of most lots nothing is looked at: their values were there before the release.
    if (!(Date.parse(lastResults.get(lot) ?? '') > Date.parse(released))) continue;
    for (const row of (await read.results.ofLot(lot)).rows) {
      if (!isLater(row.recordedAt)) continue;
      const what = AUDITOR_ANSWERS.result(`${row.characteristic} ${specimenText(row)} ${row.replicate}`);
      rows.push([lot, released, what, row.recordedAt, row.analyst, row.reason]);
    }
  }
  return rows;
}

async function recalls({ store: { read }, within }: AskedByAuditor): Promise<Rows> {
  const all = (await read.entries.list('recall')).map(({ body }) => body).filter(({ started }) => within(started));
  return all
    .sort((a, b) => Date.parse(b.started) - Date.parse(a.started))
    .map(({ recall, drill, query, started, closed, expected, found = [] }) => {
      const there = new Set(found.map(({ implant }) => implant));
      const count = expected.filter((serial) => there.has(serial)).length;
      return [
        ...[recall, drill === 'yes' ? AUDITOR_ANSWERS.drill : AUDITOR_ANSWERS.recall, query, started],
        ...[closed ?? AUDITOR_ANSWERS.open, reconciledText(count, expected.length)],
      ];
    });
}

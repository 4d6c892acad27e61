import type { Facts } from '../../dossier/facts.js';
import { stockPartSubject } from '../../dossier/signable.js';
import type { ClaimNote } from '../assessment.js';
import { isGood, noteOf, standingOf, unapproved } from '../signed.js';
import { type BuiltOnStock, implantsOnStock, interfaceClass } from '../stock.js';
import { type Check, isAfter, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

type Drafts = (rule: string, effect: FindingDraft['effect'], more?: Partial<FindingDraft>) => FindingDraft;

function draftsOf({ part, build, stock }: BuiltOnStock): Drafts {
  const told = { stockPart: stock.body.stockPart, implant: part.serial, build: build.build };
  return (rule, effect, { facts, ...more } = {}) => ({
    ...{ rule, subjects: [subject('stock-part', told.stockPart), subject('implant', part.serial)] },
    ...{ facts: { ...told, ...facts }, effect, units: [part.serial] },
    ...more,
  });
}

/** What it was: never in a patient, and given up by its lot. */
function originFindings({ origin, stock: { body } }: BuiltOnStock, found: Drafts): FindingDraft[] {
  if (body.implant === undefined) return [];
  const was = { was: body.implant };
  const implanted = origin?.events.find(({ kind, what }) => kind === 'outcome' && what === 'implanted');
  const handed = origin?.events.find(({ kind }) => kind === 'handover');
  return [
    ...(implanted
      ? [found('was implanted', 'does not conform', { facts: { ...was, outcome: implanted.key, day: implanted.at } })]
      : []),
    ...(handed && !implanted
      ? [found('left the cell', 'does not conform', { facts: { ...was, document: handed.key, day: handed.at } })]
      : []),
    ...(origin?.fate?.as === 'stock part' ? [] : [found('not given up', 'cannot be decided', { facts: was })]),
  ];
}

/** What else was built on it before, and is not said to be taken off. */
function useFindings({ stock: { uses } }: Facts, { part, build, stock }: BuiltOnStock, found: Drafts): FindingDraft[] {
  const { stockPart, takenOff = [] } = stock.body;
  const before = uses.filter(
    (use) => use.stockPart === stockPart && use.part !== part.serial && !isAfter(use.closedAt, build.closedAt),
  );
  const isFree = (use: (typeof uses)[number]) =>
    takenOff.some(
      ({ implant, at }) => implant === use.part && !isAfter(use.closedAt, at) && !isAfter(at, build.closedAt),
    );
  return before
    .filter((use) => !isFree(use))
    .map((use) => found('built on twice', 'does not conform', { facts: { other: use.part, lot: use.lot } }));
}

function faceFindings(facts: Facts, of: BuiltOnStock, found: Drafts): FindingDraft[] {
  const { build, stock } = of;
  const { zone, prepared = [] } = stock.body.interface;
  const without: FindingDraft[] =
    interfaceClass(facts, of) === undefined
      ? [found('zone not built', 'cannot be decided', { facts: { zone }, mayBeDecided: 'decision' })]
      : [];
  if (prepared.length === 0) return [...without, found('face not made ready', 'cannot be decided')];
  const last = prepared.findLast(({ at }) => !isAfter(at, build.closedAt));
  const { closedAt } = build;
  if (last === undefined) {
    const late = { preparedAt: prepared[0]!.at, closedAt };
    return [...without, found('face made ready after the build', 'cannot be decided', { facts: late })];
  }
  const { faceHours } = facts.specification.body.builtOnStock ?? {};
  const hours = (Date.parse(closedAt) - Date.parse(last.at)) / 3_600_000;
  if (faceHours === undefined || hours <= Number(faceHours)) return without;
  const told = { preparedAt: last.at, closedAt, hours: faceHours };
  return [...without, found('face lay too long', 'cannot be decided', { facts: told, mayBeDecided: 'concession' })];
}

function acceptanceFindings(facts: Facts, of: BuiltOnStock, found: Drafts, claims: ClaimNote[]): FindingDraft[] {
  const { body } = of.stock;
  const standing = standingOf(facts, stockPartSubject(body), body.acceptance);
  const { subjects, facts: told, units } = found('', 'cannot be decided');
  const missing = unapproved(standing, { subjects, facts: told, units });
  if (missing) return [missing];
  if (!isGood(standing)) return [];
  const { closedAt } = of.build;
  if (isAfter(standing.at, closedAt)) {
    const late = { acceptedAt: standing.at, closedAt };
    return [found('accepted after the build', 'blocks release', { facts: late, mayBeDecided: 'decision' })];
  }
  claims.push(noteOf('acceptance', { key: body.stockPart }, standing));
  return [];
}

export const stockPartAccepted: Check = {
  code: 'stock-part-accepted',
  since: 1,
  clause: 'ISO 13485:2016 7.4.3, 7.5.6, 7.5.9.2, 8.3.4',
  moment: 'build',
  run(facts) {
    const claims: ClaimNote[] = [];
    const all = implantsOnStock(facts);
    return {
      findings: all.flatMap((of) => {
        const found = draftsOf(of);
        return [
          ...acceptanceFindings(facts, of, found, claims),
          ...originFindings(of, found),
          ...useFindings(facts, of, found),
          ...faceFindings(facts, of, found),
        ];
      }),
      claims,
      basis: { stockParts: all.map(({ part, stock }) => `${part.serial} on ${stock.body.stockPart}`).join(', ') },
      doesNotApply: all.length === 0,
    };
  },
};

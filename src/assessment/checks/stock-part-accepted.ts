import type { Facts } from '../../dossier/facts.js';
import { stockPartSubject } from '../../dossier/signable.js';
import type { StockOrigin } from '../../dossier/stock-story.js';
import type { ClaimNote } from '../assessment.js';
import { type AskedLine, askedOfReceipt, type StatedLine, standingOfLine } from '../material-lines.js';
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

/** What nothing is built on any more: words of the events of what was an implant. */
const ENDED: ReadonlySet<string> = new Set(['scrap', 'return', 'destroyed', 'destroyed there', 'explanted']);
/** What nobody knows the end of. */
const OPEN: ReadonlySet<string> = new Set(['not decided', 'lost']);

/**
 * What it was, and what that was built on was: never in a patient, not to be scrapped, with nothing left open, and given up by
 * its lot.
 */
function originFindings({ origins, stock: { body } }: BuiltOnStock, found: Drafts): FindingDraft[] {
  if (body.implant === undefined) return [];
  if (origins.length === 0) return [found('not given up', 'cannot be decided', { facts: { was: body.implant } })];
  return origins.flatMap((origin) => findingsOfOrigin(origin, found));
}

function findingsOfOrigin({ implant, events, fate }: StockOrigin, found: Drafts): FindingDraft[] {
  const was = { was: implant };
  const implanted = events.find(({ kind, what }) => kind === 'outcome' && what === 'implanted');
  const handed = events.find(({ kind }) => kind === 'handover');
  const told = ({ kind, key, what, at }: (typeof events)[number]) => ({
    facts: { ...was, kind, document: key, what, day: at.slice(0, 10) },
  });
  return [
    ...(implanted
      ? [found('was implanted', 'does not conform', { facts: { ...was, outcome: implanted.key, day: implanted.at } })]
      : []),
    ...(handed && !implanted
      ? [found('left the cell', 'does not conform', { facts: { ...was, document: handed.key, day: handed.at } })]
      : []),
    ...events
      .filter(({ what }) => ENDED.has(what))
      .map((one) => found('not to be built on', 'does not conform', told(one))),
    ...events.filter(({ what }) => OPEN.has(what)).map((one) => found('left open', 'cannot be decided', told(one))),
    ...(fate?.as === 'stock part' ? [] : [found('not given up', 'cannot be decided', { facts: was })]),
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

/** Of what it is: the material that was delivered, one that is limited, and lines of its own within these limits. */
function materialFindings(facts: Facts, { stock: { body } }: BuiltOnStock, found: Drafts): FindingDraft[] {
  const { material, lines = [] } = body;
  const receipt = body.receipt === undefined ? undefined : facts.receipts.get(body.receipt)?.body;
  const asked = askedOfReceipt(facts, { material, materialSpecification: receipt?.materialSpecification });
  return [
    ...(receipt === undefined || receipt.material === material
      ? []
      : [
          found('receipt of another material', 'cannot be decided', {
            facts: { material, receipt: receipt.receipt, ordered: receipt.material },
          }),
        ]),
    ...(asked.length === 0
      ? [found('material without limits', 'cannot be decided', { facts: { material }, mayBeDecided: 'decision' })]
      : []),
    ...lines.flatMap((line) =>
      asked
        .filter(({ property }) => property === line.property)
        .flatMap((limit) => lineFindings(line, limit, material, found)),
    ),
  ];
}

function lineFindings(line: StatedLine, limit: AskedLine, material: string, found: Drafts): FindingDraft[] {
  const standing = standingOfLine(line, limit, 'stock part');
  if (standing === 'conforms') return [];
  const { property, lower = '', upper = '', ucum: limitUnit } = limit;
  const told = { facts: { material, property, value: line.value, unit: line.ucum, lower, upper, limitUnit } };
  if (standing === 'does not conform')
    return [found('outside limits', standing, { ...told, mayBeDecided: 'concession' })];
  return [found('not decidable', 'cannot be decided', { ...told, mayBeDecided: 'concession' })];
}

/** When metal was taken off it for the last time before it was built on; undefined where none was. */
const freedAt = ({ build, stock }: BuiltOnStock): string | undefined =>
  (stock.body.takenOff ?? [])
    .map(({ at }) => at)
    .filter((at) => !isAfter(at, build.closedAt))
    .sort((a, b) => Date.parse(a) - Date.parse(b))
    .at(-1);

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
  const freed = freedAt(of);
  if (freed !== undefined && isAfter(freed, last.at)) {
    const stale = { preparedAt: last.at, from: freed };
    return [...without, found('face made ready before metal was taken off', 'cannot be decided', { facts: stale })];
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
  const freed = freedAt(of);
  if (freed !== undefined && isAfter(freed, standing.at)) {
    const stale = { acceptedAt: standing.at, from: freed };
    return [found('accepted before metal was taken off', 'cannot be decided', { facts: stale })];
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
          ...materialFindings(facts, of, found),
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

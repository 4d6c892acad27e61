import type { Problem } from '../base/errors.js';
import { courseOf, type MoveDocument, type PlaceFault } from '../dossier/unit-places.js';
import type { Lot } from '../kinds/lot.js';
import { type LotNow, partsInside } from '../kinds/split-lot.js';
import { happenedTo, movesOf, type PartName, partsMoved, storyOf } from '../lots/unit-places.js';
import { placeText } from '../report/phrases/places.js';
import { currentLot } from '../store/lots-now.js';
import type { Reads } from '../store/repositories.js';
import { entityProblems } from './entity-rules.js';
import { bodyIf, type Known } from './known.js';
import { lotComing } from './lots-coming.js';
import type { ReadDocument } from './yaml-document.js';

/** Documents that say of parts what cannot be: of units that were not there, not released, or never left. */
export async function placeProblems(documents: readonly ReadDocument[], known: Known, read: Reads): Promise<Problem[]> {
  const problems: Problem[] = [];
  const moves = documents.filter((document) => moveOf(document) !== undefined);
  const asked = new Map<string, PartName>();
  for (const moved of moves.flatMap((move) => moveOf(move) ?? [])) {
    for (const part of partsMoved(moved)) asked.set(`${part.kind} ${part.key}`, part);
  }
  const fresh = new Map(moves.map((move) => [`${move.kind.kind} ${move.kind.key(move.body)}`, move]));
  for (const part of asked.values()) {
    const lot = await lotOf(part, documents, known, read);
    // A part that nobody knows is a problem of its own, found with the references.
    if (lot === undefined) continue;
    const stored = (await movesOf(read, part)).filter((document) => !fresh.has(entryName(document)));
    const coming = moves.flatMap((move) => moveOf(move) ?? []).filter((document) => names(document, part));
    const story = storyOf(lot, part, await happenedTo(read, lot.lot), [...stored, ...coming]);
    for (const fault of courseOf(story).faults) {
      const { kind, key } = fault.document;
      const document = fresh.get(`${kind} ${key}`);
      if (document) problems.push(problemOf(fault, document));
      // What comes in makes a document wrong that is stored: the newcomer is told.
      else problems.push(...moves.filter((move) => names(moveOf(move), part)).map((one) => against(fault, one)));
    }
  }
  for (const document of documents) problems.push(...(await untouched(document, known)));
  const lotOfUnit = (key: string) => lotOf({ kind: 'implant', key }, documents, known, read);
  return [...problems, ...(await entityProblems(moves, known, lotOfUnit))];
}

const moveOf = (document: ReadDocument): MoveDocument | undefined =>
  bodyIf('handover', document) ??
  bodyIf('outcome', document) ??
  bodyIf('unit-return', document) ??
  bodyIf('disposal', document);

const names = (document: MoveDocument | undefined, { kind, key }: PartName): boolean =>
  document !== undefined && partsMoved(document).some((part) => part.kind === kind && part.key === key);

function entryName(document: MoveDocument): string {
  switch (document.kind) {
    case 'handover':
      return `handover ${document.handover}`;
    case 'outcome':
      return `outcome ${document.implant}:${document.n}`;
    case 'unit-return':
      return `unit-return ${document.return}`;
    case 'disposal':
      return `disposal ${document.disposal}`;
  }
}

/** The lot of a part, as it comes in or as it is stored. */
async function lotOf(
  { kind, key }: PartName,
  documents: readonly ReadDocument[],
  known: Known,
  read: Reads,
): Promise<LotNow | undefined> {
  const coming: LotNow[] = [];
  for (const lot of documents.flatMap((document) => bodyIf('lot', document) ?? [])) {
    const now = await lotComing(lot, documents, known, read);
    coming.push({ ...now, ...partsInside(now) });
  }
  const owns = ({ implants, coupons }: Lot): boolean =>
    kind === 'implant' ? implants.some(({ serial }) => serial === key) : coupons.some(({ coupon }) => coupon === key);
  const found = coming.find(owns);
  if (found) return found;
  const stored = await read.entries.current(kind, key);
  if (stored === undefined || (await read.entries.current('lot', stored.body.lot)) === undefined) return undefined;
  return currentLot(read, stored.body.lot);
}

function problemOf(fault: PlaceFault, read: ReadDocument): Problem {
  const { file, lineOf } = read;
  const field = fieldOf(fault, moveOf(read));
  return { code: CODES[fault.code], file, line: lineOf(field), field, ...wordsOf(fault) };
}

function against(fault: PlaceFault, document: ReadDocument): Problem {
  const { kind, key } = fault.document;
  const told = problemOf(fault, document);
  return { ...told, found: `${told.found}, as ${kind} ${key} says that is stored` };
}

function fieldOf({ part: { kind, key } }: PlaceFault, document: MoveDocument | undefined): string {
  if (document === undefined || document.kind === 'outcome') return 'implant';
  const coupons = document.kind === 'disposal' ? (document.coupons ?? []) : [];
  return kind === 'coupon' ? `coupons[${coupons.indexOf(key)}]` : `implants[${(document.implants ?? []).indexOf(key)}]`;
}

const CODES: Readonly<Record<PlaceFault['code'], string>> = {
  'not there': 'unit-not-there',
  'not released': 'unit-not-released',
  'on hold': 'unit-on-hold',
  'released after all': 'unit-released',
  'never left': 'unit-never-left',
  'another handover': 'other-handover',
  'before handover': 'outcome-before-handover',
  'not implanted': 'unit-not-implanted',
  'in a patient': 'unit-implanted',
};

type Words = Pick<Problem, 'found' | 'expected' | 'remedy'>;

const UNRELEASED =
  'release it first, or, if it was taken away although it was not, say so under unreleased with the authority, why, and the nonconformity';

function wordsOf({ code, part: { kind, key }, at, place }: PlaceFault): Words {
  const found = `${kind} ${key}, ${placeText(place)} at ${at}`;
  switch (code) {
    case 'not there':
      return { found, expected: 'a part that was with the cell then', remedy: 'correct the code or the time' };
    case 'not released':
      return {
        found: `${found}, and not released for distribution`,
        expected: 'a unit that was released for distribution when it left',
        remedy: UNRELEASED,
      };
    case 'on hold':
      return {
        found: `${found}, and on hold`,
        expected: 'a unit that was not on hold when it left',
        remedy: `have the hold lifted first; ${UNRELEASED.slice('release it first, or, '.length)}`,
      };
    case 'released after all':
      return {
        found: `${found}, released and not on hold, said to be taken away unreleased`,
        expected: 'a plain handover of what may go',
        remedy: 'remove the field unreleased, or correct the code or the time',
      };
    case 'never left':
      return {
        found,
        expected: 'a unit that was away then',
        remedy: 'take in its handover first, or correct the code',
      };
    case 'another handover':
      return {
        found,
        expected: 'the handover with which it left last',
        remedy: 'correct the handover, or the code of the unit',
      };
    case 'before handover':
      return {
        found: `${found}, before the day of its handover`,
        expected: 'a day not before it',
        remedy: 'correct one of the two days',
      };
    case 'not implanted':
      return {
        found,
        expected: 'a unit that was implanted before',
        remedy: 'take in that outcome first, or correct this one',
      };
    case 'in a patient':
      return {
        found,
        expected: 'a unit that is not in a patient',
        remedy: 'take in first the outcome that it was explanted, or correct the code',
      };
  }
}

/** The nonconformity that a document names has to touch each of its units. */
async function untouched(document: ReadDocument, known: Known): Promise<Problem[]> {
  const named = nonconformityOf(document);
  if (named === undefined) return [];
  const opened = await known.body('nonconformity', named.code);
  if (opened === undefined) return [];
  const touched = new Set(opened.touches.flatMap((one) => (one.kind === 'implant' ? [one.key] : [])));
  const left = named.implants.filter((serial) => !touched.has(serial));
  if (left.length === 0) return [];
  const { file, lineOf, kind } = document;
  const { field } = named;
  return [
    {
      code: 'nonconformity-without-unit',
      file,
      line: lineOf(field),
      field,
      found: `${named.code}, which does not touch ${left.join(', ')}`,
      expected: `a nonconformity that touches every unit of the ${kind.kind}`,
      remedy: 'add them under touches of the nonconformity, or name another one',
    },
  ];
}

interface NamedNonconformity {
  readonly code: string;
  readonly field: string;
  readonly implants: readonly string[];
}

/** Of units that were taken away unreleased, and of units that somebody complains of. */
function nonconformityOf(document: ReadDocument): NamedNonconformity | undefined {
  const { unreleased, implants = [] } = bodyIf('handover', document) ?? {};
  if (unreleased !== undefined) return { code: unreleased.nonconformity, field: 'unreleased.nonconformity', implants };
  const complaint = bodyIf('complaint', document);
  if (complaint?.nonconformity === undefined) return undefined;
  return { code: complaint.nonconformity, field: 'nonconformity', implants: complaint.implants };
}

import type { Problem } from '../base/errors.js';
import type { Coupon, Lot } from '../kinds/lot.js';
import { fateOf } from '../kinds/lot-after-build.js';
import type { UnitMove } from '../kinds/unit-move.js';
import { unitStatesOf } from '../lots/unit-decisions.js';
import { movesOf } from '../lots/unit-places.js';
import type { Reads } from '../store/repositories.js';
import { bodyIf, type Known } from './known.js';
import type { ReadDocument } from './yaml-document.js';

/** A part that a move names, and where it does. */
interface Named {
  readonly kind: 'implant' | 'coupon';
  readonly part: string;
  readonly field: string;
}

type Draft = Omit<Problem, 'file' | 'line'> & { readonly field: string };

/**
 * Moves of units that cannot be: to a lot of another family or build, of what was never in the lot or went on already, and
 * of units that people decided on, hold, or gave out (docs/decisions/moved-units.md).
 */
export async function unitMoveProblems(
  documents: readonly ReadDocument[],
  known: Known,
  read: Reads,
): Promise<Problem[]> {
  const problems: Problem[] = [];
  const coming = documents.flatMap((document) => bodyIf('unit-move', document) ?? []);
  for (const document of documents) {
    const move = bodyIf('unit-move', document);
    if (move === undefined) continue;
    const [from, to] = [await known.body('lot', move.fromLot), await known.body('lot', move.toLot)];
    // A lot that nobody knows is a problem of its own, found with the references.
    if (from === undefined) continue;
    const named = namedIn(move);
    const drafts = [
      ...(to === undefined ? [] : wrongLots(move, from, to)),
      ...wrongParts(from, named),
      ...wrongCoupons(from, move),
      ...(await changed(move, known)),
      ...(await movedTwice(move, named, coming, read)),
      ...tooEarly(from, move, named),
      ...((await known.isRecorded(document)) ? [] : await notFree(from, named, read)),
    ];
    const { file, lineOf } = document;
    problems.push(...drafts.map((draft) => ({ ...draft, file, line: lineOf(draft.field) })));
  }
  return problems;
}

const namedIn = ({ implants = [], coupons = [] }: UnitMove): Named[] => [
  ...implants.map((part, index) => ({ kind: 'implant' as const, part, field: `implants[${index}]` })),
  ...coupons.map((part, index) => ({ kind: 'coupon' as const, part, field: `coupons[${index}]` })),
];

const specificationText = ({ specification: { specification, revision } }: Lot): string =>
  `${specification} revision ${revision}`;

function wrongLots(move: UnitMove, from: Lot, to: Lot): Draft[] {
  if (to.family !== from.family) {
    return [
      {
        code: 'move-to-another-family',
        field: 'toLot',
        found: `lot ${move.toLot} of family ${to.family}, and lot ${move.fromLot} of family ${from.family}`,
        expected: 'two lots of one family, which are judged alike',
        remedy: 'correct one of the two lots: what was built for one family is never released as another',
      },
    ];
  }
  if (from.splitFrom !== undefined) {
    return [
      {
        code: 'move-from-split-lot',
        field: 'fromLot',
        found: `lot ${from.lot}, whose units came from lot ${from.splitFrom}`,
        expected: 'the lot in which the units were built: a unit goes on in another lot once',
        remedy: 'name that lot, and units that are still in it',
      },
    ];
  }
  if (to.splitFrom !== from.lot) {
    const is = to.splitFrom === undefined ? 'has builds of its own' : `is split from lot ${to.splitFrom}`;
    return [
      {
        code: 'move-to-another-build',
        field: 'toLot',
        found: `lot ${to.lot}, which ${is}`,
        expected: `a lot with splitFrom: ${from.lot}, since units of different builds are never one lot`,
        remedy: `open a lot of its own for them, whose lot.yaml says splitFrom: ${from.lot} and names no builds`,
      },
    ];
  }
  if (specificationText(to) === specificationText(from)) return [];
  return [
    {
      code: 'move-to-other-limits',
      field: 'toLot',
      found: `lot ${to.lot}, judged by ${specificationText(to)}, and lot ${from.lot} by ${specificationText(from)}`,
      expected: 'two lots that are judged by the same revision of a specification',
      remedy: `judge lot ${to.lot} by ${specificationText(from)}`,
    },
  ];
}

function wrongParts(from: Lot, named: readonly Named[]): Draft[] {
  const own = {
    implant: from.implants.map(({ serial }) => serial),
    coupon: from.coupons.map(({ coupon }) => coupon),
  };
  return named
    .filter(({ kind, part }) => !own[kind].includes(part))
    .map(({ part, field }) => ({
      code: 'move-from-another-lot',
      field,
      found: `${part}, which lot ${from.lot} does not have`,
      expected: `a part of lot ${from.lot}`,
      remedy: 'correct the part, or the lot that it comes from',
    }));
}

/** A coupon goes with a unit that it stands for, or stays: wherever it is, it speaks for the units of both lots. */
function wrongCoupons(from: Lot, { implants = [], coupons = [] }: UnitMove): Draft[] {
  const standsFor = (code: string): Coupon['standsFor'] =>
    from.coupons.find(({ coupon }) => coupon === code)?.standsFor ?? implants;
  return coupons.flatMap((code, index) =>
    standsFor(code).some((serial) => implants.includes(serial))
      ? []
      : [
          {
            code: 'coupon-without-unit',
            field: `coupons[${index}]`,
            found: `coupon ${code}, which stands for none of the implants of the move`,
            expected: 'a coupon that stands for one of them',
            remedy: 'leave it where it is: it speaks for the units that it stands for in whichever lot they are',
          },
        ],
  );
}

/** What is moved is moved: a later revision may explain it and not undo it. */
async function changed(move: UnitMove, known: Known): Promise<Draft[]> {
  const before = (await known.revisions('unit-move', move.move)).at(-1)?.body;
  if (before === undefined) return [];
  const told = ({ fromLot, toLot, implants = [], coupons = [] }: UnitMove) =>
    `${[...implants, ...coupons].sort().join(', ')} from ${fromLot} to ${toLot}`;
  if (told(before) === told(move) && before.at === move.at) return [];
  return [
    {
      code: 'move-changed',
      field: 'move',
      found: `${told(move)} at ${move.at}`,
      expected: `${told(before)} at ${before.at}, as it was stored`,
      remedy: 'leave lots, parts and time as they were; what else is to go on in another lot is a move of its own',
    },
  ];
}

async function movedTwice(
  move: UnitMove,
  named: readonly Named[],
  coming: readonly UnitMove[],
  { entries }: Reads,
): Promise<Draft[]> {
  const found: Draft[] = [];
  for (const { kind, part, field } of named) {
    const stored = (await entries.tiedTo('unit-move', kind, part, 'moves')).map(({ body }) => body);
    const others = coming.filter((one) => namedIn(one).some((own) => own.kind === kind && own.part === part));
    const other = [...stored, ...others].find((one) => one.move !== move.move);
    if (other === undefined) continue;
    found.push({
      code: 'moved-twice',
      field,
      found: `${part}, which ${other.move} moves to lot ${other.toLot}`,
      expected: 'a part that no other move names: it is in one lot at a time, and goes on in another once',
      remedy: 'remove it from one of the two moves',
    });
  }
  return found;
}

function tooEarly(from: Lot, { at }: UnitMove, named: readonly Named[]): Draft[] {
  const builds = new Set(
    named.flatMap(({ part }) => [
      ...from.implants.filter(({ serial }) => serial === part).map(({ build }) => build),
      ...from.coupons.filter(({ coupon }) => coupon === part).map(({ build }) => build),
    ]),
  );
  const late = from.builds.find(
    (one) => builds.has(one.build) && (one.state === 'planned' || Date.parse(one.openedAt) > Date.parse(at)),
  );
  if (late === undefined) return [];
  return [
    {
      code: 'move-before-build',
      field: 'at',
      found: `${at}, before build ${late.build} was opened`,
      expected: `a time after ${late.openedAt}, of units that were built`,
      remedy: 'correct one of the two times; units that are only planned are planned in another lot',
    },
  ];
}

/** Whoever decided on a unit, holds it or gave it out did so in its lot: none of that goes along. */
async function notFree(from: Lot, named: readonly Named[], read: Reads): Promise<Draft[]> {
  const serials = named.filter(({ kind }) => kind === 'implant').map(({ part }) => part);
  const states = new Map((await unitStatesOf(read, from.lot, serials)).map((state) => [state.serial, state]));
  const found: Draft[] = [];
  for (const { kind, part, field } of named) {
    const fate = fateOf(from, part);
    const state = kind === 'implant' ? states.get(part) : undefined;
    const [gone] = await movesOf(read, { kind, key: part });
    const is =
      fate?.as ??
      (gone && `named by ${gone.kind}`) ??
      (state && state.decision !== 'open' ? DECIDED[state.decision] : undefined) ??
      (state?.hold ? 'on hold' : undefined);
    if (is === undefined) continue;
    found.push({
      code: 'unit-not-free',
      field,
      found: `${part}, ${is} in lot ${from.lot}`,
      expected: 'a part that is there, on which nobody decided, and that is not on hold',
      remedy: 'lift the hold first; what was released, rejected, used up or given out stays in its lot',
    });
  }
  return found;
}

const DECIDED = { released: 'released', rejected: 'rejected', revoked: 'released before and revoked' } as const;

import {
  courseOf,
  type MoveDocument,
  type PartCourse,
  type PartStory,
  type PlaceStep,
  type Standing,
  stepAt,
} from '../dossier/unit-places.js';
import type { Place } from '../kinds/after-release/places.js';
import type { Lot } from '../kinds/lot.js';
import { fateOf } from '../kinds/lot-after-build.js';
import { type LotNow, partsInside } from '../kinds/split-lot.js';
import { currentLot, currentLots, lotsAfterMoves } from '../store/lots-now.js';
import type { Reads } from '../store/repositories.js';
import { decisionsOnAllLots } from './unit-decisions.js';
import { coursesOf, type Happened, inLedgerOrder } from './unit-states.js';

/** Where each implant and coupon is, from documents, releases and holds. */

export interface PlacedPart extends PlaceStep {
  readonly kind: PartStory['kind'];
  readonly key: string;
  readonly lot: string;
  /** On hold at that moment. */
  readonly held: boolean;
  readonly course: PartCourse;
}

/** A part by its kind and key. */
export type PartName = Pick<PartStory, 'kind' | 'key'>;

/** Ties by which documents that move a part name it. */
const MOVING = {
  handover: 'hands over',
  outcome: 'outcome of',
  'unit-return': 'takes back',
  disposal: 'destroys',
} as const;
const KINDS_THAT_MOVE = Object.keys(MOVING) as (keyof typeof MOVING)[];

/** Whether a document of this kind moves parts. */
export const isMove = (kind: string): kind is MoveDocument['kind'] => kind in MOVING;

/** Parts that a document moves. */
export function partsMoved(document: MoveDocument): PartName[] {
  const implants = document.kind === 'outcome' ? [document.implant] : (document.implants ?? []);
  const coupons = document.kind === 'disposal' ? (document.coupons ?? []) : [];
  return [
    ...implants.map((key) => ({ kind: 'implant' as const, key })),
    ...coupons.map((key) => ({ kind: 'coupon' as const, key })),
  ];
}

/** Current documents that move a part. */
export async function movesOf({ entries }: Reads, { kind, key }: PartName): Promise<MoveDocument[]> {
  const found: MoveDocument[] = [];
  for (const move of KINDS_THAT_MOVE) {
    for (const { body } of await entries.tiedTo(move, kind, key, MOVING[move])) found.push(body);
  }
  return found;
}

/** Current documents that move anything, by the part: read once where many parts are asked for. */
async function allMoves({ entries }: Reads): Promise<MovesOf> {
  const found: MoveDocument[] = [];
  for (const kind of KINDS_THAT_MOVE) found.push(...(await entries.list(kind)).map(({ body }) => body));
  return byPart(found);
}

/** The same of the parts of a lot. */
async function movesNaming({ entries }: Reads, parts: readonly PartName[]): Promise<MovesOf> {
  const keys = parts.map(({ key }) => key);
  const found: MoveDocument[] = [];
  for (const kind of KINDS_THAT_MOVE) found.push(...(await entries.namingParts(kind, keys)).map(({ body }) => body));
  return byPart(found);
}

type MovesOf = (part: PartName) => readonly MoveDocument[];

function byPart(documents: readonly MoveDocument[]): MovesOf {
  const found = new Map<string, MoveDocument[]>();
  for (const document of documents) {
    for (const part of partsMoved(document)) {
      const known = found.get(nameOf(part));
      if (known) known.push(document);
      else found.set(nameOf(part), [document]);
    }
  }
  return (part) => found.get(nameOf(part)) ?? [];
}

const nameOf = ({ kind, key }: PartName): string => `${kind} ${key}`;

/** Everything that people signed on the lot file of a lot, and what befell its units, in the order of the audit trail. */
export async function happenedTo(read: Reads, lot: string): Promise<Happened[]> {
  const statements = await read.signatures.of({ kind: 'lot file', key: lot });
  return inLedgerOrder(statements, await read.events.of({ kind: 'lot', key: lot }));
}

/** Where each part of a lot is at a moment; now, when none is given. Implants first, in the order of the lot file. */
export async function placesOfLot(read: Reads, lot: LotNow, moment?: string): Promise<PlacedPart[]> {
  return placesInLot(read, lot, partsOf(lot), moment);
}

/** Where each implant of a lot is now, in the order of the lot file. */
export const placesOfImplantsIn = (read: Reads, lot: LotNow): Promise<PlacedPart[]> =>
  placesInLot(
    read,
    lot,
    partsOf(lot).filter(({ kind }) => kind === 'implant'),
    undefined,
  );

async function placesInLot(
  read: Reads,
  lot: LotNow,
  parts: readonly PartName[],
  moment: string | undefined,
): Promise<PlacedPart[]> {
  const happened = await happenedTo(read, lot.lot);
  const moves = await movesNaming(read, parts);
  return parts.map((part) => placedPart(lot, storyOf(lot, part, happened, moves(part)), moment));
}

/** The same for all parts of all lots, with each question asked once. */
export const placesOfAllLots = (read: Reads, moment?: string): Promise<PlacedPart[]> =>
  placesAmongAll(read, () => true, moment);

/** Where some implants are, of whatever lots. Many are read as `placesOfAllLots` reads them, few one by one. */
export async function placesOfImplants(
  read: Reads,
  serials: readonly string[],
  moment?: string,
): Promise<PlacedPart[]> {
  const wanted = new Set(serials);
  const isWanted = ({ kind, key }: PartName) => kind === 'implant' && wanted.has(key);
  if (wanted.size > FEW_PARTS) return placesAmongAll(read, isWanted, moment);
  const placed: PlacedPart[] = [];
  const happenedIn = new Map<string, { readonly lot: LotNow; readonly happened: readonly Happened[] }>();
  for (const key of wanted) {
    const code = (await read.entries.current('implant', key))?.body.lot;
    if (code === undefined) continue;
    const known = happenedIn.get(code) ?? {
      lot: await currentLot(read, code),
      happened: await happenedTo(read, code),
    };
    happenedIn.set(code, known);
    const part = { kind: 'implant', key } as const;
    placed.push(placedPart(known.lot, storyOf(known.lot, part, known.happened, await movesOf(read, part)), moment));
  }
  return placed;
}

/** Where implants were by what was on record at an entry of the audit trail: not what came in later of an earlier day. */
export async function placesAsRecorded(read: Reads, serials: readonly string[], asOf: number): Promise<PlacedPart[]> {
  const wanted = new Set(serials);
  const then = <R extends { readonly key: string; readonly ledgerSeq: number }>(revisions: readonly R[]): R[] => [
    ...new Map(
      revisions.filter(({ ledgerSeq }) => ledgerSeq <= asOf).map((revision) => [revision.key, revision]),
    ).values(),
  ];
  const moves: MoveDocument[] = [];
  for (const kind of KINDS_THAT_MOVE) {
    for (const { body } of then(await read.entries.allRevisions(kind))) moves.push(body);
  }
  const movesThen = byPart(moves);
  const placed: PlacedPart[] = [];
  const bodies = <B>(revisions: readonly { readonly body: B }[]) => revisions.map(({ body }) => body);
  const lots = bodies(then(await read.entries.allRevisions('lot')));
  for (const body of lotsAfterMoves(lots, bodies(then(await read.entries.allRevisions('unit-move'))))) {
    const parts = partsOf(body).filter(({ kind, key }) => kind === 'implant' && wanted.has(key));
    if (parts.length === 0) continue;
    const happened = (await happenedTo(read, body.lot)).filter(({ ledgerSeq }) => ledgerSeq <= asOf);
    for (const part of parts) {
      placed.push(placedPart(body, storyOf(body, part, happened, movesThen(part)), undefined));
    }
  }
  return placed;
}

/** Up to as many parts are asked for one by one: each costs a few questions, all of the folder cost its reading. */
export const FEW_PARTS = 50;

async function placesAmongAll(
  read: Reads,
  isWanted: (part: PartName) => boolean,
  moment: string | undefined,
): Promise<PlacedPart[]> {
  const decisions = await decisionsOnAllLots(read);
  const moves = await allMoves(read);
  return (await currentLots(read)).flatMap((body) => {
    const parts = partsOf(body).filter(isWanted);
    if (parts.length === 0) return [];
    const { statements, events } = decisions(body.lot);
    const happened = inLedgerOrder(statements, events);
    return parts.map((part) => placedPart(body, storyOf(body, part, happened, moves(part)), moment));
  });
}

function partsOf(lot: LotNow): PartName[] {
  const { implants, coupons } = partsInside(lot);
  return [
    ...implants.map(({ serial }) => ({ kind: 'implant' as const, key: serial })),
    ...coupons.map(({ coupon }) => ({ kind: 'coupon' as const, key: coupon })),
  ];
}

function placedPart({ lot }: Lot, story: PartStory, moment: string | undefined): PlacedPart {
  const course = courseOf(story);
  const step = stepAt(course, moment) ?? NOT_MADE;
  return { kind: story.kind, key: story.key, lot, ...step, held: isHeld(story, moment), course };
}

const NOT_MADE: PlaceStep = { place: 'planned' satisfies Place, since: null, by: null, holder: null };

function isHeld({ standings }: PartStory, moment: string | undefined): boolean {
  const until = moment === undefined ? standings : standings.filter(({ at }) => Date.parse(at) <= Date.parse(moment));
  return until.at(-1)?.held ?? false;
}

/** @param happened to the lot, in the order of the audit trail. */
export function storyOf(
  lot: LotNow,
  { kind, key }: PartName,
  happened: readonly Happened[],
  documents: readonly MoveDocument[],
): PartStory {
  const parts: readonly { readonly build: string }[] =
    kind === 'implant'
      ? lot.implants.filter(({ serial }) => serial === key)
      : lot.coupons.filter(({ coupon }) => coupon === key);
  const build = lot.builds.find((one) => one.build === parts[0]?.build);
  const madeAt = build === undefined || build.state === 'planned' ? null : (build.openedAt ?? null);
  const standings = kind === 'implant' ? coursesOf(key, happened).map(standingOf) : [];
  const gone = fateOf(lot, key);
  return { kind, key, madeAt, fate: gone?.as === 'moved' ? undefined : gone, standings, documents };
}

function standingOf({ standing, after }: ReturnType<typeof coursesOf>[number]): Standing {
  const { decision, releases, hold } = standing;
  const isReleased = releases.some(({ statement }) => statement.step === 'distribution');
  return {
    at: 'signed' in after ? after.signed.statement.at : after.at,
    is: decision === 'rejected' ? 'rejected' : isReleased ? 'released' : 'open',
    held: hold !== null,
    ...('event' in after && after.event.type === 'hold-lifted' ? { lifted: true } : {}),
  };
}

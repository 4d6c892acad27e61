import type { Disposal } from '../kinds/after-release/disposal.js';
import type { Handover } from '../kinds/after-release/handover.js';
import type { Outcome } from '../kinds/after-release/outcome.js';
import { isAway, PLACES, type Place } from '../kinds/after-release/places.js';
import type { UnitReturn } from '../kinds/after-release/unit-return.js';
import type { PartFate } from '../kinds/lot-after-build.js';

/** A document that says where a part went. */
export type MoveDocument = Handover | Outcome | UnitReturn | Disposal;

/** How people had decided on an implant from a moment on. */
export interface Standing {
  readonly at: string;
  /** Released: for distribution, as the last step. */
  readonly is: 'open' | 'released' | 'rejected';
  readonly held: boolean;
  /** What was on hold until now is held no more. */
  readonly lifted?: boolean;
}

/** Everything from which the places of one part follow. */
export interface PartStory {
  readonly kind: 'implant' | 'coupon';
  readonly key: string;
  /** When it was made; null while that is only planned. */
  readonly madeAt: string | null;
  readonly fate: PartFate | undefined;
  /** Of an implant, in their order; a coupon has none. */
  readonly standings: readonly Standing[];
  /** That name the part, in whatever order. */
  readonly documents: readonly MoveDocument[];
}

export interface PlaceStep {
  readonly place: Place;
  /** Null for what is only planned. */
  readonly since: string | null;
  /** The document that says so; null where it follows from what people decided. */
  readonly by: { readonly kind: string; readonly key: string } | null;
  /** Who has it, once it left the cell. */
  readonly holder: Handover['to'] | null;
}

/** Why a document cannot be true of a part, beside what else is on record. */
export interface PlaceFault {
  readonly code:
    | 'not there'
    | 'not released'
    | 'on hold'
    | 'released after all'
    | 'never left'
    | 'another handover'
    | 'before handover'
    | 'not implanted'
    | 'in a patient';
  readonly part: { readonly kind: PartStory['kind']; readonly key: string };
  readonly document: { readonly kind: string; readonly key: string };
  readonly at: string;
  /** Where the part was then. */
  readonly place: Place;
}

/** The course of one part through its places, and what contradicts it. A document that does moves nothing. */
export interface PartCourse {
  /** In the order of time; the first is where it came to be. */
  readonly steps: readonly PlaceStep[];
  readonly faults: readonly PlaceFault[];
}

interface Move {
  readonly at: string;
  readonly document: MoveDocument | PartFate;
}

/**
 * The one rule of where a part is. Documents count by when things happened and not by when they came in, so that their order
 * of coming changes nothing.
 */
export function courseOf(story: PartStory): PartCourse {
  const { madeAt } = story;
  if (madeAt === null) return walked(story, { place: 'planned', since: null, by: null, holder: null });
  return walked(story, { place: 'in process', since: madeAt, by: null, holder: null });
}

/** Where it was at a moment; now, when none is given. Undefined before it was made. */
export function stepAt({ steps }: PartCourse, moment?: string): PlaceStep | undefined {
  if (moment === undefined) return steps.at(-1);
  return steps.findLast(({ since }) => since === null || Date.parse(since) <= Date.parse(moment));
}

function walked(story: PartStory, first: PlaceStep): PartCourse {
  const steps: PlaceStep[] = [first];
  const faults: PlaceFault[] = [];
  let under: Handover | undefined;
  const part = { kind: story.kind, key: story.key };
  const go = (step: PlaceStep) => steps.push(step);

  for (const happened of inOrder(story)) {
    const now = steps.at(-1)!;
    if ('held' in happened) {
      const place = placeDecided(now.place, happened);
      if (place !== now.place) go({ place, since: happened.at, by: null, holder: null });
      continue;
    }
    const { at, document } = happened;
    const by = nameOf(story, document);
    const fault = objectionTo(story, document, now.place, standingAt(story, at), under);
    if (fault) {
      faults.push({ code: fault, part, document: by, at, place: now.place });
      continue;
    }
    if ('kind' in document && document.kind === 'handover') under = document;
    go({ place: placeAfter(document), since: at, by, holder: holderAfter(document, under) });
  }
  return { steps, faults };
}

/** What people decided moves only what is with the cell; what came back stays apart until its hold is lifted. */
function placeDecided(place: Place, { is, lifted }: Standing): Place {
  const free = place === 'in process' || place === 'in stock' || place === 'rejected';
  if (!free && !(place === 'returned' && lifted === true)) return place;
  return PLACE_DECIDED[is];
}

const PLACE_DECIDED = { open: 'in process', released: 'in stock', rejected: 'rejected' } as const;

const DECIDED_NOTHING: Omit<Standing, 'at'> = { is: 'open', held: false };

const standingAt = ({ standings }: PartStory, at: string): Omit<Standing, 'at'> =>
  standings.findLast((standing) => Date.parse(standing.at) <= Date.parse(at)) ?? DECIDED_NOTHING;

/** Places from which a part can no longer be taken. */
const GONE: readonly Place[] = ['planned', 'scrapped', 'destroyed'];
const isHere = (place: Place): boolean => !isAway(place) && !GONE.includes(place);

/** The only place that says whether a part can have gone where a document says. */
function objectionTo(
  story: PartStory,
  document: MoveDocument | PartFate,
  place: Place,
  standing: Omit<Standing, 'at'>,
  under: Handover | undefined,
): PlaceFault['code'] | undefined {
  if (!('kind' in document)) return isHere(place) ? undefined : 'not there';
  switch (document.kind) {
    case 'handover':
      return objectionToHandover(document, place, standing);
    case 'outcome':
      return objectionToOutcome(story, document, place, under);
    case 'unit-return':
      if (place === 'implanted') return 'in a patient';
      return isAway(place) && place !== 'destroyed there' ? undefined : 'never left';
    case 'disposal':
      // What was scrapped lies there until it is destroyed.
      return isHere(place) || place === 'scrapped' ? undefined : 'not there';
  }
}

function objectionToHandover(
  { unreleased }: Handover,
  place: Place,
  { is, held }: Omit<Standing, 'at'>,
): PlaceFault['code'] | undefined {
  if (!isHere(place) || place === 'tested' || place === 'stock part') return 'not there';
  const mayGo = place === 'in stock' && !held;
  if (unreleased !== undefined) return mayGo ? 'released after all' : undefined;
  if (mayGo) return undefined;
  return is === 'released' && held ? 'on hold' : 'not released';
}

/** Places from which something can become of a part at the institution. */
const BEFORE_OUTCOME: Readonly<Record<Outcome['what'], readonly Place[]>> = {
  implanted: ['out', 'taken away unreleased', 'lost'],
  'not used': ['out', 'taken away unreleased', 'lost'],
  'destroyed there': ['out', 'taken away unreleased', 'lost', 'explanted'],
  lost: ['out', 'taken away unreleased', 'explanted'],
  explanted: ['implanted'],
};

function objectionToOutcome(
  { documents }: PartStory,
  { what, handover, on }: Outcome,
  place: Place,
  under: Handover | undefined,
): PlaceFault['code'] | undefined {
  const named = documents.find((one): one is Handover => one.kind === 'handover' && one.handover === handover);
  if (named === undefined) return 'another handover';
  // Both days as the clocks of the place showed them.
  if (on < named.at.slice(0, 10)) return 'before handover';
  if (!isAway(place)) return 'never left';
  if (under !== named) return 'another handover';
  if (BEFORE_OUTCOME[what].includes(place)) return undefined;
  return what === 'explanted' ? 'not implanted' : 'not there';
}

const OUTCOME_PLACES: Readonly<Record<Outcome['what'], Place>> = {
  implanted: 'implanted',
  'not used': 'out',
  'destroyed there': 'destroyed there',
  lost: 'lost',
  explanted: 'explanted',
};

function placeAfter(document: MoveDocument | PartFate): Place {
  if (!('kind' in document)) return document.as;
  switch (document.kind) {
    case 'handover':
      return document.unreleased === undefined ? 'out' : 'taken away unreleased';
    case 'outcome':
      return OUTCOME_PLACES[document.what];
    case 'unit-return':
      return 'returned';
    case 'disposal':
      return 'destroyed';
  }
}

const holderAfter = (document: MoveDocument | PartFate, under: Handover | undefined): PlaceStep['holder'] =>
  'kind' in document && isAway(placeAfter(document)) ? (under?.to ?? null) : null;

function nameOf({ kind, key }: PartStory, document: MoveDocument | PartFate): PlaceFault['document'] {
  if (!('kind' in document)) return { kind, key };
  switch (document.kind) {
    case 'handover':
      return { kind: 'handover', key: document.handover };
    case 'outcome':
      return { kind: 'outcome', key: `${document.implant}:${document.n}` };
    case 'unit-return':
      return { kind: 'unit-return', key: document.return };
    case 'disposal':
      return { kind: 'disposal', key: document.disposal };
  }
}

/** Everything that happened to it by time. At one moment decisions come first: what they allow may follow at once. */
function inOrder({ standings, documents, fate }: PartStory): (Standing | Move)[] {
  const handovers = new Map(documents.flatMap((one) => (one.kind === 'handover' ? [[one.handover, one.at]] : [])));
  const moves: Move[] = documents.map((document) => ({
    at: document.kind === 'outcome' ? outcomeAt(document, handovers.get(document.handover)) : document.at,
    document,
  }));
  if (fate) moves.push({ at: fate.at, document: fate });
  const rank = ({ document }: Move): string =>
    'kind' in document ? `${RANKS[document.kind]} ${'n' in document ? String(document.n).padStart(9, '0') : ''}` : '0';
  moves.sort((a, b) => Date.parse(a.at) - Date.parse(b.at) || (rank(a) < rank(b) ? -1 : rank(a) > rank(b) ? 1 : 0));
  const all: (Standing | Move)[] = [...standings, ...moves];
  return all.sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
}

/** Which of two things at one moment can only have been first. */
const RANKS: Readonly<Record<MoveDocument['kind'], number>> = {
  handover: 1,
  outcome: 2,
  'unit-return': 3,
  disposal: 4,
};

/** A day is told of an outcome: it begins there, and not before the unit was handed over on that day. */
function outcomeAt({ on }: Outcome, handedOverAt: string | undefined): string {
  const offset = handedOverAt === undefined ? 'Z' : (/(?:Z|[+-]\d{2}:\d{2})$/.exec(handedOverAt)?.[0] ?? 'Z');
  const day = `${on}T00:00:00${offset}`;
  return handedOverAt !== undefined && handedOverAt.slice(0, 10) === on ? handedOverAt : day;
}

/** A part as a balance counts it. */
export interface CountedPart {
  readonly key: string;
  readonly place: Place;
  /** A document on record contradicts where it is. */
  readonly contradicted: boolean;
}

/** How many were made and where each of them is. What is lost or contradicted is accounted for by nobody. */
export interface PlaceBalance {
  readonly made: number;
  /** Places with parts in them, in the order of `PLACES`. */
  readonly places: readonly { readonly place: Place; readonly parts: readonly string[] }[];
  readonly unaccounted: readonly string[];
}

export function balanceOf(parts: readonly CountedPart[]): PlaceBalance {
  const made = parts.filter(({ place }) => place !== 'planned');
  const isUnaccounted = ({ place, contradicted }: CountedPart) => place === 'lost' || contradicted;
  const known = made.filter((part) => !isUnaccounted(part));
  return {
    made: made.length,
    places: PLACES.flatMap((place) => {
      const there = known.filter((part) => part.place === place).map(({ key }) => key);
      return there.length === 0 ? [] : [{ place, parts: there }];
    }),
    unaccounted: made.filter(isUnaccounted).map(({ key }) => key),
  };
}

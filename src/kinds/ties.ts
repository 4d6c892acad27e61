/**
 * Every tie between two entries, in one place: what it means, and how a trace walks over it. A tie is written down in the
 * document that names the other thing, its source; the thing named is its target.
 */

/** What a tie says of its source. */
export type Sense =
  | 'made of'
  | 'weighed or tested by'
  | 'stands for'
  | 'rests on'
  | 'done by'
  | 'decided by'
  | 'under document'
  | 'kept at'
  | 'is about'
  | 'belongs to';

export type Direction = 'back' | 'forward';

export interface TieMeaning {
  readonly sense: Sense;
  /**
   * In which direction one goes from source to target. `back` where the source came from its target or rests on it;
   * `forward` where the target rests on the source, as an implant rests on its coupons and a coupon on its results.
   */
  readonly leads: Direction;
  /**
   * Directions in which a walk names what it finds over this tie and goes no further from there: what a case, a lot or a
   * machine has to do with beyond that says nothing about what was asked for.
   */
  readonly ends?: readonly Direction[];
}

const back = (sense: Sense): TieMeaning => ({ sense, leads: 'back' });
const forward = (sense: Sense): TieMeaning => ({ sense, leads: 'forward' });
/** A walk ends behind it in these directions. */
const ending = (tie: TieMeaning, ...ends: Direction[]): TieMeaning => ({ ...tie, ends });
/** Named from both sides, and no way for a walk: other documents of the site, which lots do not come from. */
const named = (sense: Sense): TieMeaning => ending(back(sense), 'back', 'forward');

/** To a person, who is named; who trained them is told of the person alone. */
const person = (sense: 'done by' | 'decided by'): ToPerson => ({ ...ending(back(sense), 'back'), toPerson: true });

interface ToPerson extends TieMeaning {
  readonly toPerson: true;
}

export const TIES = {
  'of family': back('belongs to'),
  'of lot': ending(forward('belongs to'), 'forward'),
  'for case': ending(forward('belongs to'), 'forward'),
  'consists of': back('made of'),
  'built in': back('made of'),
  continues: back('made of'),
  deposited: back('made of'),
  'contains receipt': back('made of'),
  'contains powder state': back('made of'),
  'contains heat': back('made of'),
  'taken from receipt': back('made of'),
  'taken from consumable': back('made of'),
  'with consumable': back('made of'),
  'recovered into': forward('made of'),
  'built on': back('made of'),
  'melted by': back('done by'),
  'from supplier': back('done by'),
  'under gas': back('made of'),
  'to material specification': back('under document'),
  'done by supplier': back('done by'),
  treated: forward('done by'),
  'in load': back('rests on'),
  'filled on': back('kept at'),
  held: forward('kept at'),
  'purged into': back('rests on'),
  'after changeover': back('rests on'),
  'by rework instruction': back('under document'),
  'for nonconformity': back('rests on'),
  'arose from': back('rests on'),
  'triggered by': back('rests on'),
  touches: forward('decided by'),
  allows: forward('decided by'),
  'keeps on hold': forward('decided by'),
  moves: forward('decided by'),
  'split from': ending(back('belongs to'), 'back', 'forward'),
  'moved from': ending(back('belongs to'), 'back', 'forward'),
  'moved to': ending(back('belongs to'), 'back', 'forward'),
  'on machine': back('done by'),
  'for machine': ending(back('under document'), 'back', 'forward'),
  'pools machine': ending(back('rests on'), 'back', 'forward'),
  'results read by': back('under document'),
  'certificate read by': back('under document'),
  maps: ending(back('under document'), 'back', 'forward'),
  'built by recipe': back('under document'),
  'judged by': back('under document'),
  'measured by': back('under document'),
  'by method': back('under document'),
  'log read by': back('under document'),
  'rests on': back('rests on'),
  'speaks by study': back('rests on'),
  'logged with': back('weighed or tested by'),
  'measured with': back('weighed or tested by'),
  'weighed with': back('weighed or tested by'),
  'scanned with': back('weighed or tested by'),
  'measured on': forward('stands for'),
  'stands for': forward('stands for'),
  'on sheet': back('rests on'),
  'values entered by': person('done by'),
  'values checked by': person('decided by'),
  'tested by': person('done by'),
  'opened by': person('done by'),
  'run by': person('done by'),
  'made by': person('done by'),
  'maintained by': person('done by'),
  'worked on by': person('done by'),
  'cleared by': person('done by'),
  'fate recorded by': person('done by'),
  'labels inspected by': person('done by'),
  'scanned by': person('done by'),
  'asked for by': person('done by'),
  'moved by': person('done by'),
  'verified by': person('decided by'),
  'evaluated by': person('decided by'),
  'closed by': person('decided by'),
  'invalid test seen by': person('done by'),
  'certificate transcribed by': person('done by'),
  'certificate checked by': person('decided by'),
  'invalid test decided by': person('decided by'),
  'decision claimed by': person('decided by'),
  'acceptance claimed by': person('decided by'),
  'approval claimed by': person('decided by'),
  /** What was signed rests on the act, and the act on its person. */
  'signed by': person('decided by'),
  'signed on': forward('decided by'),
  'training signed of': ending(forward('decided by'), 'forward'),

  // The case and its route
  'of case': ending(back('belongs to'), 'back'),
  'status set by': person('decided by'),
  'received by': person('done by'),
  'entered by': person('done by'),
  'designed by': person('done by'),
  'designed from': back('made of'),
  'designed with': back('done by'),
  'inside envelope': back('under document'),
  'planned with recipe': ending(back('under document'), 'back'),
  'shown by': back('rests on'),
  // The design that is built rests on its acceptance.
  accepts: forward('is about'),
  permits: forward('is about'),

  // Degradation and shape
  'in medium': back('under document'),
  'in batch': back('made of'),
  'sterilised in': back('done by'),
  'was implant': back('made of'),
  'made ready by': person('done by'),
  'taken off by': person('done by'),
  // What was built on it once and taken off again is told of it, and is no part of what it is now.
  'freed of': named('is about'),

  // Places, trace, recall. One handover holds units of several cases, so a walk from one unit ends with it.
  'hands over': ending(back('kept at'), 'forward'),
  'handed over by': person('done by'),
  'outcome of': ending(back('kept at'), 'forward'),
  'after handover': ending(back('belongs to'), 'back', 'forward'),
  'takes back': ending(back('kept at'), 'forward'),
  'taken back by': person('done by'),
  'complains of': ending(back('is about'), 'forward'),
  'led to': ending(forward('is about'), 'back'),
  destroys: ending(back('kept at'), 'forward'),
  'destroyed by': person('done by'),
  'destruction seen by': person('done by'),
  'looks at': ending(back('is about'), 'back'),
  // What stands in a lot rests on the answer to what was found off.
  'touches lot': ending(forward('is about'), 'forward'),
  'decides on': ending(forward('is about'), 'forward'),
  recalls: ending(back('is about'), 'forward'),

  // Trend
  'for specification': named('under document'),
  pools: named('rests on'),
  'signal of plan': ending(back('under document'), 'back'),
  'coincides with': named('is about'),
  'on lot': ending(back('rests on'), 'back'),
  'decision made by': person('decided by'),

  // Design history
  meets: back('rests on'),
  // What a document of lots was made for is told of the document, and the story of the design of itself.
  gives: ending(forward('rests on'), 'back'),
  verifies: back('is about'),
  validates: back('is about'),
  'worst case of': ending(back('is about'), 'back'),
  'tested on': ending(back('rests on'), 'back'),
  reviews: ending(back('is about'), 'back'),
  'reviewed by': person('decided by'),
  'acts on review': person('done by'),
  controls: back('is about'),
  changes: ending(back('is about'), 'back'),
  'leads to': ending(forward('rests on'), 'back'),
  transfers: ending(back('is about'), 'back'),
  'validated by': person('done by'),
  answers: ending(back('is about'), 'back'),
  freezes: ending(back('is about'), 'back'),
} as const satisfies Record<string, TieMeaning>;

export type TieName = keyof typeof TIES;

/** Ties by which a document says of a person what they did. */
export type PersonTie = { [Name in TieName]: (typeof TIES)[Name] extends ToPerson ? Name : never }[TieName];

const endingIn = (direction: Direction): ReadonlySet<string> =>
  new Set(
    Object.entries(TIES as Record<string, TieMeaning>).flatMap(([name, { ends }]) =>
      ends?.includes(direction) ? [name] : [],
    ),
  );

const ENDING: Readonly<Record<Direction, ReadonlySet<string>>> = {
  back: endingIn('back'),
  forward: endingIn('forward'),
};

/** Whether a walk in this direction names what lies behind such a tie, and goes no further. */
export const isEnding = (name: TieName, direction: Direction): boolean => ENDING[direction].has(name);

/** Ties of powder to what went into it: the only ones along which thousands of documents may hang on one. */
export const CONTAINS = ['contains receipt', 'contains powder state'] as const satisfies TieName[];

/** What ties an implant to its case. */
export const FOR_CASE = 'for case' satisfies TieName;

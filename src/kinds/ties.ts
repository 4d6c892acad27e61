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
  'melted by': back('done by'),
  'from supplier': back('done by'),
  'under gas': back('made of'),
  'on machine': back('done by'),
  'for machine': ending(back('under document'), 'back', 'forward'),
  'pools machine': ending(back('rests on'), 'back', 'forward'),
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
  'measured on': forward('stands for'),
  'measured or entered by': back('done by'),
  'opened by': back('done by'),
  'run by': back('done by'),
  'made by': back('done by'),
  'maintained by': back('done by'),
  'worked on by': back('done by'),
  'invalid test seen by': back('done by'),
  'certificate transcribed by': back('done by'),
  'certificate checked by': back('decided by'),
  'invalid test decided by': back('decided by'),
  'decision claimed by': back('decided by'),
  'acceptance claimed by': back('decided by'),
  'approval claimed by': back('decided by'),
} as const satisfies Record<string, TieMeaning>;

export type TieName = keyof typeof TIES;

/** What ties an implant to its case. */
export const FOR_CASE = 'for case' satisfies TieName;

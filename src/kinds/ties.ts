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
  'moved from': ending(back('belongs to'), 'back', 'forward'),
  'moved to': ending(back('belongs to'), 'back', 'forward'),
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
  'weighed with': back('weighed or tested by'),
  'scanned with': back('weighed or tested by'),
  'measured on': forward('stands for'),
  'measured or entered by': back('done by'),
  'opened by': back('done by'),
  'run by': back('done by'),
  'made by': back('done by'),
  'maintained by': back('done by'),
  'worked on by': back('done by'),
  'cleared by': back('done by'),
  'fate recorded by': back('done by'),
  'labels inspected by': back('done by'),
  'scanned by': back('done by'),
  'asked for by': back('done by'),
  'moved by': back('done by'),
  'verified by': back('decided by'),
  'evaluated by': back('decided by'),
  'closed by': back('decided by'),
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

import { sideText } from './trade-codes.js';

/** Words of the label sheet and of the labels on it, but for those that a clause asks for. */
export const LABEL_SHEET = {
  title: (lot: string) => `Labels of lot ${lot}`,
  all: 'Every unit on this sheet may be labelled.',
  draft: (serials: readonly string[]) =>
    `DRAFT, not to be put on a pack: not to be labelled yet are ${serials.join(', ')}.`,
  labelOf: (serial: string) => `Label of ${serial}`,
  required: 'Words on these labels, and who asks for them',
  requiredByRoute: 'Required words by route; clauses are aids, check the edition in force',
  words: 'Words',
  clause: 'Clause',
  serial: (serial: string) => `Serial ${serial}`,
  lot: (lot: string, day: string) => `Lot ${lot}, made ${day}`,
  useBy: (day: string) => `Use by ${day}`,
  /** Cases may be withheld from a copy: without site and side then. */
  case: (code: string, place: { anatomicalSite: string; side: string } | undefined, designIteration: number) =>
    `Case ${code}${place ? `, ${place.anatomicalSite}, ${sideText(place.side)}` : ''}, design iteration ${designIteration}`,
  metal: (alloy: string) => `Resorbable metal: ${alloy}`,
};

import type { LotFiles } from '../lots.js';
import { PEOPLE } from '../names.js';

/** A plate that went to the hospital and was implanted, one that is still there, and a drill that finds every unit of a heat. */

const HOSPITAL = { institution: 'Harbor Street Hospital (fictional)', address: '1 Invented Street, Nowhere (fictional)' };

/** Two plates of the third coated lot. */
export const HANDOVER: LotFiles = {
  documents: {
    'handovers/HO-1.yaml': {
      ...{ kind: 'handover', format: 1, handover: 'HO-1', implants: ['CP-33-1', 'CP-33-2'], to: HOSPITAL },
      ...{ at: '2026-11-16T10:00:00+01:00', by: PEOPLE.operator, condition: 'packs whole, labels readable' },
    },
    'outcomes/CP-33-1.yaml': {
      ...{ kind: 'outcome', format: 1, implant: 'CP-33-1', n: 1, what: 'implanted', on: '2026-11-18' },
      ...{ handover: 'HO-1', reportedBy: `theatre of the ${HOSPITAL.institution}` },
    },
  },
  texts: {},
};

/** The yearly drill, on the heat of the coated plates. */
export const DRILL = {
  recall: 'DRILL-2026-1',
  query: 'H8120',
  trigger: 'yearly drill: the certificate of a heat is taken for withdrawn (fictional)',
  reason: 'held once a year',
  aimHours: '4',
  lessons: 'the hospital answered by telephone first and in writing an hour later: ask for both at once (fictional)',
  begins: '2026-11-23T08:00:00Z',
  foundAt: '2026-11-23T10:00:00Z',
  closes: '2026-11-23T10:40:00Z',
} as const;

import { type Document, FICTION, PEOPLE } from '../names.js';
import { serialOf } from './lots.js';
import { FIRST, SECOND } from './three-lots.js';

/** What became of three coated plates that left the cell: one was implanted, one is with the clinic, one came back unused. */

const CLINIC = 'Fjordside Clinic (fictional)';

export const AFTER_RELEASE: Record<string, Document> = {
  'handovers/HO-31.yaml': {
    ...{ kind: 'handover', format: 1, handover: 'HO-31' },
    implants: [serialOf(FIRST, 1), serialOf(FIRST, 2), serialOf(SECOND, 3)],
    to: { institution: CLINIC, address: 'Kai 4, Fjordside (fictional)' },
    ...{ at: '2026-10-26T08:00:00Z', by: PEOPLE.release, condition: `packs whole, labels read (${FICTION})` },
  },
  'outcomes/CP-31-1.yaml': {
    ...{ kind: 'outcome', format: 1, implant: serialOf(FIRST, 1), n: 1, what: 'implanted', on: '2026-11-04' },
    ...{ handover: 'HO-31', reportedBy: `the theatre list of ${CLINIC}` },
  },
  'returns/UR-32.yaml': {
    ...{ kind: 'unit-return', format: 1, return: 'UR-32', implants: [serialOf(SECOND, 3)], from: CLINIC },
    ...{ why: 'the operation was put off (fictional)', condition: 'pack unopened, label whole' },
    ...{ at: '2026-11-16T09:00:00Z', by: PEOPLE.release },
  },
};

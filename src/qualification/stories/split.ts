import type { LotFiles } from '../lots.js';
import { type Document, PEOPLE } from '../names.js';
import { caseFiles } from './cases.js';
import { serialOf, serialsOf } from './lots.js';
import { COATED_FAMILY, COATED_SPECIFICATION } from './names.js';
import { labelsFor, lastSteps } from './steps.js';
import { THIRD } from './three-lots.js';

/** The lot in which the last plate of the third lot goes on by itself, since its operation was put off. */
export const SPLIT_LOT = 'C-2026-04';
const SPLIT_AT = '2026-10-08T17:30:00Z';
const MOVED = serialOf(THIRD, 4);
export const KEPT = serialsOf(THIRD).filter((serial) => serial !== MOVED);

function lotFile(later: Document): Record<string, Document> {
  return {
    [`lots/${SPLIT_LOT}/lot.yaml`]: {
      kind: 'lot',
      format: 1,
      lot: SPLIT_LOT,
      family: COATED_FAMILY,
      specification: COATED_SPECIFICATION,
      opened: { by: PEOPLE.process, at: SPLIT_AT },
      splitFrom: THIRD.lot,
      ...later,
    },
  };
}

const WHY = 'the prescriber put the operation off (fictional)';

/** The case with its new day. */
export const putOff = (): LotFiles =>
  caseFiles(THIRD.cases[3]!, { iteration: 1, surgeryOn: '2027-01-15', reason: WHY });

/** The plate in a lot of its own. */
export const splitFiles = (): LotFiles => ({
  documents: {
    ...lotFile({ steps: [] }),
    'moves/MV-33.yaml': {
      kind: 'unit-move',
      format: 1,
      move: 'MV-33',
      fromLot: THIRD.lot,
      toLot: SPLIT_LOT,
      implants: [MOVED],
      why: WHY,
      by: PEOPLE.process,
      at: SPLIT_AT,
    },
  },
  texts: {},
});

/** Packed, sterilised in the loads of all, and labelled. */
export const splitFinished = (): LotFiles => ({
  documents: lotFile({ steps: lastSteps, labels: labelsFor([MOVED]) }),
  texts: {},
});

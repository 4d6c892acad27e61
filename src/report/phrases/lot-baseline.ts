import type { LotBaseline } from '../../dossier/lot-baseline.js';
import { timeText } from '../../dossier/time-text.js';
import { counted } from './counted.js';

type Told = Pick<LotBaseline, 'body' | 'approvedBy' | 'approvedAt' | 'withdrawnAt'>;

const what = ({ body, approvedBy, approvedAt, withdrawnAt }: Told): string =>
  `${counted(body.members.length, 'document')} frozen as of entry ${body.asOf.entries} of the audit trail, approved by ${approvedBy}, ${timeText(approvedAt)}${
    withdrawnAt === null ? '' : `; withdrawn for cause since, ${timeText(withdrawnAt)}`
  }`;

/** What record and page of a lot say of the design as it was frozen when the lot was built. */
export const LOT_BASELINE = {
  what,
  /** For the record, as one sentence. @param found undefined where none was in force. */
  says: (family: string, isBuilt: boolean, found: Told | undefined): string => {
    if (!isBuilt) return 'Design: nothing is built yet, so no baseline of the design goes with the lot.';
    return found === undefined
      ? `Design: no baseline of family ${family} was in force when the first chamber was closed.`
      : `Design: baseline ${found.body.name} of family ${family} was in force when the first chamber was closed: ${what(found)}.`;
  },
  label: 'Design when it was built',
  none: 'no baseline was in force when the first chamber was closed',
  notBuilt: 'nothing is built yet',
  compare: 'what came since',
} as const;

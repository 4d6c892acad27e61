import { ABSENT } from '../absent.js';
import { verdictText } from '../codes.js';
import { MOMENT_QUESTIONS, nothingHoldsBackText } from '../moments.js';

/** What the commands on lots print around the facts. */
export const LOT_LINES = {
  assessed: (lot: string, verdicts: string) => `Lot ${lot}: ${verdicts} (proposed; people decide).`,
  answer: (moment: keyof typeof MOMENT_QUESTIONS, releasable: readonly string[], units: number) =>
    `${MOMENT_QUESTIONS[moment]} ${nothingHoldsBackText(releasable.length, units)}: ${releasable.join(', ') || ABSENT.none}.`,
  unit: (serial: string, verdict: string) => `${serial}: ${verdictText(verdict)}`,
  open: (characteristic: string, until: string) => `${characteristic} open until ${until}`,
  none: 'No lot yet. Take one in: lotwright intake FOLDER',
  awaiting: (awaiting: string) => `${awaiting} A service does it when it starts; here: lotwright assess LOT`,
  record: (number: string, revision: number) => `, record ${number} revision ${revision}`,
  lot: (lot: string, neededBy: string | null, state: string, record: string) =>
    `${lot}  needed by ${neededBy ?? ABSENT.nobody}  ${state}${record}`,
  changed: (entry: number, says: string) => `changed by this version, entry ${entry}, nobody has looked at it: ${says}`,
  outOfDate: 'facts came in since it was assessed: lotwright assess',
  nonconformity: (lot: string, findings: readonly string[]) =>
    `or open a nonconformity: lotwright nonconformity ${lot} ${findings.map((id) => id.slice(0, 12)).join(' ')} --person CODE`,
  blocker: (units: readonly string[], says: string) => `${units.join(', ')}: ${says}`,
};

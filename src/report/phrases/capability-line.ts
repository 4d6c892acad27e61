import type { CapabilityResult } from '../../assessment/assessment.js';
import { LEAST_P_OF_NORMAL } from '../../assessment/performance.js';
import { spacedUnit } from '../../dossier/unit-text.js';
import type { Characteristic } from '../../kinds/specification.js';
import type { FamilyBefore } from '../family-before.js';
import { ABSENT } from './absent.js';
import {
  capabilityNoteText,
  excludedText,
  ownPointsText,
  percentText,
  signalsBesideText,
  targetText,
} from './capability.js';
import { beginningSmall } from './capital.js';
import { ppkBeforeText } from './family-before.js';
import { limitsText } from './limits.js';
import { besideSpread, indexText, lowerBoundText, probabilityText, spreadText } from './rounded.js';

/** One characteristic of the family in the cells of one row. */
export const CAPABILITY_LINE = {
  characteristic: (item: Characteristic) => `${item.title}: ${limitsText(item)}${spacedUnit(item.ucum)}`,
  earlier: (capability: CapabilityResult) =>
    `${capability.n} (${capability.builds})${isWhole(capability) ? '' : excludedText(capability)}`,
  meanAndSpread: ({ ucum }: Characteristic, { mean, sd }: CapabilityResult) =>
    mean === null ? ABSENT.notStated : `${besideSpread(mean, sd)}; ${spreadText(sd)}${spacedUnit(ucum)}`,
  index: (item: Characteristic, { ppk, ppkLower, confidence, applied }: CapabilityResult) => {
    if (ppk === null) return ABSENT.notStated;
    const against = (of: { readonly ppk: number | null; readonly ppkLower: number | null }) =>
      `${indexText(of.ppk)}${of.ppkLower === null ? '' : `, at least ${lowerBoundText(of.ppkLower)} (${percentText(confidence)})`}`;
    if (applied === null) return against({ ppk, ppkLower });
    const limits = limitsText({ lower: applied.lower ?? undefined, upper: applied.upper ?? undefined });
    return `${against(applied)} against ${limits}; ${against({ ppk, ppkLower })} against ${limitsText(item)}`;
  },
};

const isWhole = ({ excluded, takenOut }: CapabilityResult): boolean => excluded.length === 0 && takenOut.values === 0;

/** What the program notes of it, but for what is told of all of them. */
export const notedOf = ({ notes }: CapabilityResult): string[] =>
  notes.filter(({ code }) => code !== 'performance, not capability').map(capabilityNoteText);

/**
 * What a reader has to know beside the numbers, in one sentence.
 * @param toldElsewhere notes that stand once for every characteristic.
 */
export function capabilitySentence(
  item: Characteristic,
  capability: CapabilityResult,
  before: FamilyBefore | null | undefined,
  toldElsewhere: readonly string[] = [],
): string {
  const parts = [
    normalText(capability),
    buildsText(capability),
    targetText(capability),
    before === undefined ? '' : ppkBeforeText(before, capability, item),
    `this lot: ${ownPointsText(capability, item)}${signalsBesideText(capability)}`,
    ...notedOf(capability)
      .filter((note) => !toldElsewhere.includes(note))
      .map((note) => beginningSmall(note.replace(/\.$/, ''))),
  ];
  return parts.filter((part) => part !== '').join('; ');
}

function normalText({ normality }: CapabilityResult): string {
  if (normality === null) return '';
  const p = `p ${probabilityText(normality.p)}`;
  return normality.p < LEAST_P_OF_NORMAL ? `not normal (${p})` : `nothing speaks against a normal distribution (${p})`;
}

/** Whether builds differ, and which of the two bounds counts. */
function buildsText({ spread, bounds }: CapabilityResult): string {
  if (spread === null || spread.p === null) return '';
  const says = `${spread.p < LEAST_P_OF_NORMAL ? 'builds differ' : 'no difference of builds is shown'} (p ${probabilityText(spread.p)})`;
  if (bounds.independent === null || bounds.builds === null) return says;
  const lower = bounds.builds <= bounds.independent ? 'the one by builds' : 'the one for independent values';
  return `${says}; of two bounds the lower one counts, ${lower}`;
}

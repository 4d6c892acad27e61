import type { Assessment, UnitResult } from '../assessment/assessment.js';
import type { Facts } from '../dossier/facts.js';
import type { RecordTemplate } from '../report/record-template.js';
import type { Enclosure } from './enclosure.js';
import { isShown, shownSerials } from './one-case.js';

/** Everything a record shows: the facts, what the program says of them, and what surrounds both. */
export interface RecordView {
  readonly facts: Facts;
  readonly assessment: Assessment;
  readonly enclosure: Enclosure;
  readonly enclosureSha256: string;
  /** Order, titles and words. */
  readonly template: RecordTemplate;
}

/** The implants of cases that this copy may show: all of them, but for a copy that leaves for one institution. */
export function shownUnits({ facts, assessment, enclosure }: Omit<RecordView, 'template'>): UnitResult[] {
  const shown = new Set(shownSerials(facts.lot.body, enclosure.forCase));
  return assessment.units.filter(({ serial }) => shown.has(serial));
}

/** Whether a page of this copy may name a part of the lot: a serial of another case it may not. */
export const tellsOf = ({ facts, enclosure }: Pick<RecordView, 'facts' | 'enclosure'>): ((part: string) => boolean) =>
  isShown(facts.lot.body, enclosure.forCase);

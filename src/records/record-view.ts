import type { Assessment, UnitResult } from '../assessment/assessment.js';
import type { Facts } from '../dossier/facts.js';
import type { RecordTemplate } from '../report/record-template.js';
import type { Enclosure } from './enclosure.js';

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
  const { forCase } = enclosure;
  return assessment.units.filter(
    ({ serial }) =>
      forCase === null || facts.lot.body.implants.some((item) => item.serial === serial && item.case === forCase),
  );
}

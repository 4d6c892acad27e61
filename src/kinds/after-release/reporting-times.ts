/**
 * Times to report, by law. This table is the one place of them: whoever answers for reporting compares it with the text of
 * the law and edits it here. All rows were written down from memory, which `source` says of each.
 */

export interface ReportingTime {
  readonly law: string;
  readonly clause: string;
  readonly what: string;
  /** From the start of the clock; null where the clause sets no number of days. */
  readonly days: number | null;
  /** Work days are Monday to Friday: the table knows no holidays, so a time in work days is the shortest that it can be. */
  readonly counted: 'calendar days' | 'work days';
  readonly source: 'from memory' | 'compared with the text';
}

const row = (
  law: string,
  clause: string,
  what: string,
  days: number | null,
  counted: ReportingTime['counted'] = 'calendar days',
): ReportingTime => ({ law, clause, what, days, counted, source: 'from memory' });

export const REPORTING_TIMES: readonly ReportingTime[] = [
  row('EU', 'MDR article 87(3)', 'serious incident', 15),
  row('EU', 'MDR article 87(5)', 'death, or unexpected serious deterioration in health', 10),
  row('EU', 'MDR article 87(4)', 'serious threat to public health', 2),
  row('EU', 'MDR article 87(8)', 'field safety corrective action: before it is taken, but where it cannot wait', null),
  row('EU', 'MDR article 88', 'statistically significant increase of incidents', null),
  row(
    'EU',
    'MDR Annex XIII, 5',
    'custom-made: serious incident or field safety corrective action, by article 87',
    null,
  ),
  row('EU', 'MDR Annex XIII, 5', 'custom-made: experience after release reviewed, documented and acted on', null),
  row('EU', 'MDR article 86(1)', 'safety report of class III and implantable devices, at least once a year', null),
  row('US', '21 CFR 803.50', 'death, serious injury or malfunction', 30),
  row('US', '21 CFR 803.53', 'action needed against an unreasonable risk of substantial harm', 5, 'work days'),
  row('US', '21 CFR 806.10', 'correction or removal', 10, 'work days'),
];

const DAY_MS = 86_400_000;

/** The moment by which a report is due at the latest: as many days later, at the same time of day. */
function endOf({ days, counted }: ReportingTime & { readonly days: number }, start: number): number {
  if (counted === 'calendar days') return start + days * DAY_MS;
  let at = start;
  for (let left = days; left > 0; ) {
    at += DAY_MS;
    if (![0, 6].includes(new Date(at).getUTCDay())) left -= 1;
  }
  return at;
}

/**
 * The longest time that any clause of a law leaves, or undefined where the table has none of it.
 * @param start ISO time with offset, from which the clock runs.
 */
export function latestReport(
  law: string,
  start: string,
): { readonly by: ReportingTime; readonly at: string } | undefined {
  const ends = REPORTING_TIMES.flatMap((by) =>
    by.law === law && by.days !== null ? [{ by, at: endOf({ ...by, days: by.days }, Date.parse(start)) }] : [],
  );
  const last = ends.sort((a, b) => b.at - a.at)[0];
  return last && { by: last.by, at: new Date(last.at).toISOString() };
}

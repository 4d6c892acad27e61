import { digestOf } from '../dossier/canonical.js';
import { timeText } from '../dossier/time-text.js';
import { subjectText } from '../ledger/subject.js';
import { ACT_CHOICES, type TrailFilter, type TrailLine } from '../ledger/trail.js';
import { renderTwice } from '../pdf/render.js';

export interface TrailReport {
  readonly lines: readonly TrailLine[];
  readonly filter: TrailFilter;
  readonly head: { readonly origin: string; readonly size: number; readonly root: string };
  readonly printedAt: Date;
  readonly printedBy: string;
  readonly program: string;
  readonly demo: boolean;
}

/** Values of one act that fit on paper; the CSV has all. */
const MOST_CHANGES = 25;

/** The audit trail on paper: one row an act, with old and new values below each other. */
export function renderTrailReport(report: TrailReport): Promise<Buffer> {
  const { lines, head, printedAt, printedBy, program, demo } = report;
  const title = `Audit trail${demo ? ' (fictional demo data)' : ''}`;
  return renderTwice(
    {
      number: 'Audit trail',
      revision: String(head.size),
      title,
      subject: `Entries of ${head.origin}`,
      author: printedBy,
      digest: digestOf(lines),
      printedAt,
      program,
      draft: false,
    },
    (page) => {
      page.title(title, 'Who did what to what, when and why, with old and new values');
      page.facts([
        ['Searched for', filterText(report.filter)],
        ['Lines', String(lines.length)],
        ['Audit trail', `${head.origin}, ${head.size} entries`],
        ['Root over all entries', head.root],
        ['SHA-256 of the lines', digestOf(lines)],
        ['Printed', `${timeText(printedAt.toISOString())} by ${printedBy}`],
        ['Program', program],
      ]);
      page.heading(1, 'Lines, oldest first', { listed: false });
      page.table({
        caption: 'Numbers are those of the entries. What lies between two of them was not searched for.',
        columns: [
          { head: 'Entry', width: 0.06 },
          { head: 'When', width: 0.13 },
          { head: 'Who', width: 0.12 },
          { head: 'Act on what', width: 0.2 },
          { head: 'Values: old, then new', width: 0.36 },
          { head: 'Reason', width: 0.13 },
        ],
        rows: lines.map((line) => [
          String(line.seq),
          timeText(line.at),
          line.actor,
          `${line.act}: ${subjectText(line.subject)}`,
          changesText(line),
          reasonsOf(line),
        ]),
        empty: 'Nothing in the audit trail is as searched for.',
      });
    },
  );
}

function filterText(filter: TrailFilter): string {
  const words = {
    ...filter,
    act: ACT_CHOICES.find(({ act }) => act === filter.act)?.words ?? filter.act,
  };
  const asked = Object.entries(words).filter(([, value]) => Boolean(value));
  return asked.length === 0 ? 'everything' : asked.map(([name, value]) => `${name} ${value}`).join(', ');
}

function changesText({ changes }: TrailLine): string {
  const shown = changes.slice(0, MOST_CHANGES).map(({ what, before, after }) => {
    if (before === null) return `${what}: ${after}`;
    return after === null ? `${what}: ${before}, removed` : `${what}: ${before}, then ${after}`;
  });
  const more = changes.length - shown.length;
  return [...shown, ...(more > 0 ? [`and ${more} more values`] : [])].join('; ');
}

/** The reason of the act, or those of its values. */
function reasonsOf({ reason, changes }: TrailLine): string {
  if (reason !== null) return reason;
  return [...new Set(changes.flatMap((change) => change.reason ?? []))].join('; ');
}

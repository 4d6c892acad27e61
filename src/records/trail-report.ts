import { digestOf } from '../dossier/canonical.js';
import { timeText } from '../dossier/time-text.js';
import type { TrailFilter, TrailLine } from '../ledger/trail.js';
import { renderTwice } from '../pdf/render.js';
import { trailSubjectText } from '../report/phrases/kinds.js';
import { PAGE_WORDS } from '../report/phrases/page-words.js';
import { searchedActText } from '../report/phrases/trail-acts.js';
import { TRAIL_REPORT } from '../report/phrases/trail-report.js';

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
  const { heads } = TRAIL_REPORT;
  const title = TRAIL_REPORT.title(demo);
  return renderTwice(
    {
      number: TRAIL_REPORT.number,
      revision: String(head.size),
      title,
      subject: TRAIL_REPORT.subject(head.origin),
      author: printedBy,
      digest: digestOf(lines),
      printedAt,
      program,
      state: 'final',
      words: PAGE_WORDS,
    },
    (page) => {
      page.title(title, TRAIL_REPORT.lead);
      page.facts([
        [TRAIL_REPORT.searchedFor, filterText(report.filter)],
        [TRAIL_REPORT.lines, String(lines.length)],
        [TRAIL_REPORT.auditTrail, TRAIL_REPORT.auditTrailOf(head.origin, head.size)],
        [TRAIL_REPORT.root, head.root],
        [TRAIL_REPORT.sha, digestOf(lines)],
        [TRAIL_REPORT.printed, TRAIL_REPORT.printedOf(timeText(printedAt.toISOString()), printedBy)],
        [TRAIL_REPORT.program, program],
      ]);
      page.heading(1, TRAIL_REPORT.heading, { listed: false });
      page.table({
        caption: TRAIL_REPORT.caption,
        columns: [
          { head: heads.entry, width: 0.06 },
          { head: heads.when, width: 0.13 },
          { head: heads.who, width: 0.12 },
          { head: heads.act, width: 0.2 },
          { head: heads.values, width: 0.36 },
          { head: heads.reason, width: 0.13 },
        ],
        rows: lines.map((line) => [
          String(line.seq),
          timeText(line.at),
          line.actor,
          `${line.act}: ${trailSubjectText(line.subject)}`,
          changesText(line),
          reasonsOf(line),
        ]),
        empty: TRAIL_REPORT.empty,
      });
    },
  );
}

function filterText(filter: TrailFilter): string {
  const words = {
    ...filter,
    act: filter.act && searchedActText(filter.act),
  };
  const asked = Object.entries(words).filter(([, value]) => Boolean(value));
  return asked.length === 0
    ? TRAIL_REPORT.everything
    : asked.map(([name, value]) => TRAIL_REPORT.asked(name, value!)).join(', ');
}

function changesText({ changes }: TrailLine): string {
  const shown = changes.slice(0, MOST_CHANGES).map(({ what, before, after }) => {
    if (before === null) return TRAIL_REPORT.new(what, after);
    return after === null ? TRAIL_REPORT.removed(what, before) : TRAIL_REPORT.changed(what, before, after);
  });
  const more = changes.length - shown.length;
  return [...shown, ...(more > 0 ? [TRAIL_REPORT.more(more)] : [])].join('; ');
}

/** The reason of the act, or those of its values. */
function reasonsOf({ reason, changes }: TrailLine): string {
  if (reason !== null) return reason;
  return [...new Set(changes.flatMap((change) => change.reason ?? []))].join('; ');
}

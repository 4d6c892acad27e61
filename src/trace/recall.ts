import fs from 'node:fs';
import path from 'node:path';
import { PROGRAM_ROOT } from '../base/settings.js';
import { noFormula, writeCsv } from '../dossier/csv.js';
import { isAway } from '../kinds/after-release/places.js';
import type { Recall } from '../kinds/after-release/recall.js';
import type { PlacedPart } from '../lots/unit-places.js';
import { placeStateText } from '../report/phrases/places.js';
import { RECALL_FILES } from '../report/phrases/recall.js';

/** A recall from the answer of a trace: the document, the draft notices, and the list to reconcile. */

export interface RecallAsked {
  readonly recall: string;
  readonly drill: boolean;
  readonly trigger: string;
  readonly reason: string;
  readonly query: string;
  readonly started: string;
  readonly aimHours: string | undefined;
  readonly head: { readonly size: number; readonly root: string };
}

/** What a recall on record asked. */
export const askedBy = ({ drill, asOf, ...body }: Recall): RecallAsked => ({
  ...{
    recall: body.recall,
    drill: drill === 'yes',
    trigger: body.trigger,
    reason: body.reason ?? '',
    query: body.query,
  },
  ...{ started: body.started, aimHours: body.aimHours, head: { size: asOf.entries, root: asOf.root } },
});

export interface Consignee {
  readonly institution: string;
  readonly address: string;
  readonly units: readonly PlacedPart[];
}

/** Institutions that have some of the units, with the address of now. */
export function consigneesOf(units: readonly PlacedPart[]): Consignee[] {
  const found = new Map<string, Consignee>();
  for (const unit of units) {
    if (unit.holder === null) continue;
    const { institution, address } = unit.holder;
    const name = JSON.stringify([institution, address]);
    found.set(name, { institution, address, units: [...(found.get(name)?.units ?? []), unit] });
  }
  return [...found.values()].sort((a, b) => (a.institution < b.institution ? -1 : 1));
}

/** Units that are with the cell. */
export const stillHere = (units: readonly PlacedPart[]): PlacedPart[] => units.filter(({ place }) => !isAway(place));

/** The document of its kind, open: people take it in, and say in later revisions where each unit was found. */
export function recallDocument(asked: RecallAsked, units: readonly PlacedPart[]): Record<string, unknown> {
  const { recall, drill, trigger, query, head, started, aimHours, reason } = asked;
  return {
    ...{ kind: 'recall', format: 1, recall, drill: drill ? 'yes' : 'no', trigger, query },
    asOf: { entries: head.size, root: head.root },
    expected: units.map(({ key }) => key),
    started,
    ...(aimHours === undefined ? {} : { aimHours }),
    reason,
  };
}

/** A row for each unit, with what is left to fill in. */
export function reconciliationCsv({ recall, drill }: RecallAsked, units: readonly PlacedPart[]): string {
  const columns = ['recall', 'implant', 'lot', 'on record', 'with', 'found (place)', 'found at', 'found by'];
  const name = drill ? `DRILL ${recall}` : recall;
  const rows = units.map((unit) => [
    ...[name, unit.key, unit.lot, placeStateText(unit), unit.holder?.institution ?? 'the cell', '', '', ''],
  ]);
  return writeCsv(
    columns,
    rows.map((row) => row.map(noFormula)),
  );
}

const TEMPLATES = path.join(PROGRAM_ROOT, 'templates', 'papers');

/** The draft of what one institution is told. The text is that of a file which people edit. */
export function noticeText({ recall, drill, trigger, started }: RecallAsked, consignee: Consignee): string {
  const text = fs.readFileSync(path.join(TEMPLATES, drill ? 'drill-notice.txt' : 'recall-notice.txt'), 'utf8');
  const lead = drill ? 'DRILL    ' : '  ';
  const values: Readonly<Record<string, string>> = {
    ...{ institution: consignee.institution, address: consignee.address, recall, trigger, started },
    units: consignee.units.map((unit) => `${lead}${unit.key}, lot ${unit.lot}`).join('\n'),
  };
  return text.replace(/\{([a-z]+)\}/g, (whole, name: string) => values[name] ?? whole);
}

/** Everything of a recall as files, by their names. */
export function recallFiles(asked: RecallAsked, units: readonly PlacedPart[]): ReadonlyMap<string, string> {
  return new Map([
    [RECALL_FILES.reconciliation, reconciliationCsv(asked, units)],
    ...consigneesOf(units).map(
      (one, index) => [RECALL_FILES.notice(asked.drill, index + 1), noticeText(asked, one)] as const,
    ),
  ]);
}

import { z } from 'zod';
import { Assessment } from '../../src/assessment/assessment.js';
import { Manifest } from '../../src/custody/manifest.js';
import { ConsumableUsesPart } from '../../src/dossier/earlier-uses.js';
import { PART_NAMES } from '../../src/dossier/facts.js';
import { FamilyHistory } from '../../src/dossier/family-history.js';
import { LatePart } from '../../src/dossier/late-facts.js';
import { CasePart, Dossier, LogPart } from '../../src/dossier/schema.js';
import { SignedStatement } from '../../src/dossier/statement.js';
import { StockStoryPart } from '../../src/dossier/stock-story.js';
import { RESULT_TABLE, SUMMARY_TABLE } from '../../src/dossier/tables.js';
import { ALL_KINDS } from '../../src/kinds/catalogue.js';
import { Simulation } from '../../src/kinds/degradation/simulation.js';
import { schemasOf } from '../../src/kinds/formats.js';
import { RESULT_COLUMNS } from '../../src/kinds/result.js';
import { LedgerEntry } from '../../src/ledger/entry.js';
import { Event } from '../../src/ledger/event.js';
import { Sidecar } from '../../src/process-logs/units-sidecar.js';
import { Enclosure } from '../../src/records/enclosure.js';
import { Template } from '../../src/report/record-template.js';
import { FolderFile } from '../../src/store/data-folder.js';
import { Tombstone } from '../../src/store/evidence/evidence-files.js';
import type { Formats, Schema } from './breaches.js';

const TABLES = {
  [PART_NAMES.results]: RESULT_TABLE,
  [PART_NAMES.summaries]: SUMMARY_TABLE,
};

/** Everything that is stored or leaves the house, but for tables of the database, which have migrations and guards. */
export function formatsNow(): Formats {
  const whole: readonly (readonly [string, z.ZodType])[] = [
    ['lot-file', Dossier],
    ['part-log', LogPart],
    ['part-case', CasePart],
    ['part-family-history', FamilyHistory],
    ['part-late-facts', LatePart],
    ['part-consumable-uses', ConsumableUsesPart],
    ['part-stock-parts', StockStoryPart],
    ['part-simulation', Simulation],
    ['assessment', Assessment],
    ['enclosure', Enclosure],
    ['signed-statement', SignedStatement],
    ['event', Event],
    ['ledger-entry', LedgerEntry],
    ['backup-manifest', Manifest],
    ['folder', FolderFile],
    ['tombstone', Tombstone],
    ['record-template', Template],
    ['log-units', Sidecar],
  ];
  const kinds = ALL_KINDS.flatMap((kind) =>
    schemasOf(kind).map((schema, index) => [`kind-${kind.kind}-${index + 1}`, schema] as const),
  );
  return {
    ...Object.fromEntries([...whole, ...kinds].map(([name, schema]) => [name, { schema: jsonSchema(schema) }])),
    ...tableFormats(),
    'result-sheet': { schema: sheetSchema() },
  };
}

function tableFormats(): Formats {
  const found = Object.entries(TABLES).flatMap(([name, table]) =>
    Array.from({ length: table.format }, (_, index) => {
      const columns: readonly string[] = table.columns(index + 1);
      return [`table-${name}-${index + 1}`, { columns }] as const;
    }),
  );
  return Object.fromEntries(found);
}

/** Columns of a sheet come in any order. */
function sheetSchema(): Schema {
  const names = [...RESULT_COLUMNS.required, ...RESULT_COLUMNS.optional];
  const properties = Object.fromEntries(names.map((name) => [name, { type: 'string' }]));
  return { type: 'object', properties, required: [...RESULT_COLUMNS.required], additionalProperties: false };
}

/** Without words, which may change. */
const jsonSchema = (schema: z.ZodType): Schema =>
  z.toJSONSchema(schema, {
    io: 'input',
    unrepresentable: 'any',
    override: ({ jsonSchema: written }) => {
      delete written.description;
      delete written.title;
    },
  }) as Schema;

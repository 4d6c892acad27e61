/** A place in a source that must be found exactly once, and what stands there in the grown program. */
export interface Patch {
  readonly file: string;
  readonly from: string;
  readonly to: string;
}

const after = (file: string, from: string, added: string): Patch => ({ file, from, to: from + added });
const before = (file: string, from: string, added: string): Patch => ({ file, from, to: added + from });

/** An optional field in three kinds. */
const FIELDS = [
  before('kinds/lot.ts', '  labels: LabelCounts.optional()', '  remark: Text.optional(),\n'),
  after('kinds/method.ts', '  title: Text,\n', '  apparatus: Text.optional(),\n'),
  after('kinds/machine.ts', '  location: Text,\n', '  colour: Text.optional(),\n'),
];

/** An optional field in what records carry and in an event, written from now on. */
const FIELDS_OF_RECORDS = [
  after('records/enclosure.ts', '  printedBy: z.string(),\n', '  printer: z.string().optional(),\n'),
  after('records/record-issuer.ts', '        printedBy: actor,\n', "        printer: 'P-9',\n"),
  after('ledger/event.ts', "    type: z.literal('integrity-checked'),\n", '    torch: z.string().optional(),\n'),
  after('custody/integrity.ts', "        type: 'integrity-checked',\n", "        torch: 'T-1',\n"),
  after(
    'dossier/statement.ts',
    '  beside: z.array(z.strictObject({ kind: z.string(), digest: Digest })),\n',
    '  witness: z.string().optional(),\n',
  ),
  before('dossier/schema.ts', '  outlines: z.array(Outline),\n', '  weather: z.string().optional(),\n'),
];

/** The next format of one kind, with a field that is needed. */
const NEXT_FORMAT = [
  {
    file: 'kinds/supplier.ts',
    from: 'export const Supplier = z.strictObject({',
    to: 'const SupplierOne = z.strictObject({',
  },
  before(
    'kinds/supplier.ts',
    'export type Supplier =',
    `export const Supplier = SupplierOne.extend({
  format: z.union([z.literal(2), z.literal('2')]).transform(() => 2 as const),
  country: Text,
});
`,
  ),
  after(
    'kinds/supplier.ts',
    '  schema: Supplier,\n',
    "  earlier: [{ schema: SupplierOne, upgrade: (one) => ({ ...one, format: 2, country: 'not stated' }) }],\n",
  ),
];

/** The next format of the lot file, a further part, and a further column of a table. */
const NEXT_LOT_FILE = [
  { file: 'dossier/schema.ts', from: 'LOT_FILE_FORMATS = [1] as const', to: 'LOT_FILE_FORMATS = [1, 2] as const' },
  before(
    'store/assemble-dossier.ts',
    '  const evidence = await evidenceOfLot(',
    "  if (lot.remark !== undefined) gathered.addJson('remark.json', { remark: lot.remark });\n",
  ),
  before('dossier/tables.ts', '});\n\nexport const SUMMARY_TABLE', '  weather: 3,\n'),
  before('dossier/tables.ts', '}\n\n/** Statistics of one channel', '  readonly weather: string;\n'),
  after('store/results.ts', '        methodRevision: String(row.methodRevision),\n', "        weather: 'dry',\n"),
];

/** A further check, which every lot of before would fail. */
const CHECK = [
  before('assessment/checks/check-code.ts', "  | 'machines-maintained'", "  | 'lot-remarked'\n"),
  before(
    'assessment/checks/catalogue.ts',
    'import type { Check }',
    "import { lotRemarked } from './lot-remarked.js';\n",
  ),
  after('assessment/checks/catalogue.ts', '  labelsBalance,\n', '  lotRemarked,\n'),
  before(
    'report/phrases/checks/catalogue.ts',
    'import { machinesMaintained }',
    "import { lotRemarked } from './lot-remarked.js';\n",
  ),
  before('report/phrases/checks/catalogue.ts', "  'machines-maintained':", "  'lot-remarked': lotRemarked,\n"),
];

/** A further type of entry and of event, and an act that records both. */
const LEDGER = [
  before(
    'ledger/entry.ts',
    "  'record-issued': entryType(",
    `  'shelf-counted': entryType(
    'shelf-counted',
    { shelf: z.string() },
    ({ shelf }) => plain('shelf', shelf),
  ),
`,
  ),
  before(
    'ledger/event.ts',
    '  // Custody.\n',
    "  z.strictObject({ type: z.literal('lamp-changed'), lamp: z.string() }),\n",
  ),
  before(
    'ledger/event.ts',
    "    case 'key-made':\n      return",
    "    case 'lamp-changed':\n      return { kind: 'lamp', key: event.lamp };\n",
  ),
  before('report/phrases/trail-acts.ts', "  'record-issued':", "  'shelf-counted': 'shelf counted',\n"),
  before('report/phrases/trail-acts.ts', "  'backup-made':", "  'lamp-changed': 'lamp changed',\n"),
  before(
    'lots/freeze.ts',
    '  await change.histories.add(',
    "  await change.events.add({ type: 'lamp-changed', lamp: lot });\n",
  ),
  after(
    'store/lot-files.ts',
    '      { Dossier: [{ digest, lot, body }], Part: fresh },\n    );\n',
    "    await this.db.recorder.record({ type: 'shelf-counted', shelf: lot }, {});\n",
  ),
];

export const PATCHES: readonly Patch[] = [
  ...FIELDS,
  ...FIELDS_OF_RECORDS,
  ...NEXT_FORMAT,
  ...NEXT_LOT_FILE,
  ...CHECK,
  ...LEDGER,
];

/** Files that the grown program has beside those of this one. */
export const FURTHER_FILES: Readonly<Record<string, string>> = {
  'assessment/checks/lot-remarked.ts': `
import { allUnits, type Check, subject } from './check.js';

export const lotRemarked: Check = {
  code: 'lot-remarked',
  since: 2,
  clause: 'invented',
  moment: 'release',
  run(facts) {
    const { lot, remark } = facts.lot.body;
    const finding = {
      rule: 'no remark',
      subjects: [subject('lot', lot)],
      facts: { lot },
      effect: 'does not conform' as const,
      units: allUnits(facts),
    };
    return { findings: remark === undefined ? [finding] : [], basis: {} };
  },
};
`,
  'report/phrases/checks/lot-remarked.ts': `
import type { CheckPhrases } from '../phrase.js';

export const lotRemarked: CheckPhrases = {
  title: 'There is a remark',
  asks: 'Does the lot bear a remark?',
  recompute: 'Does not tell: invented.',
  basis: () => 'the lot',
  rules: { 'no remark': ({ lot }) => ({ says: 'Lot ' + lot + ' has none.', clearedBy: 'Operator: write one.' }) },
};
`,
};

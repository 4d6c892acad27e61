import { kindText } from './kinds.js';

/** What stands in a field, and what has to: in every form. */
export const foundText = (found: string | undefined, needed: string): string =>
  `${found === undefined ? '' : `found ${found}; `}needed: ${needed}`;

/** What forms that make documents say around the fields. */
export const ENTRY_FORMS = {
  list: 'Enter something',
  anew: (kind: string) => `Enter: ${kindText(kind)}`,
  again: (kind: string, key: string) => `Next revision: ${kindText(kind)} ${key}`,
  check: (kind: string, key: string) => `Check before you store: ${kindText(kind)} ${key}`,
  outOfTolerance: 'Found out of tolerance.',
  certificateCorrected: 'A certificate is corrected: lots were built on what it said before.',
  notStored: 'This was not stored',
  goTo: (part: string, rows: number) => `${part} (${rows})`,
  clock: (zone: string) => (zone === 'UTC' ? 'UTC' : `time of ${zone}`),
  row: (list: string, number: number) => `${list}, ${number}`,
  more: (list: string) => `One more: ${list}`,
  less: (row: string) => `Take away: ${row}`,
  open: (group: string) => `Add: ${group}`,
  shut: (group: string) => `Leave out: ${group}`,
  either: (label: string) => `${label}: which`,
  chooseFile: (label: string) => `File for “${label}”`,
  showShape: 'Show its fields',
  shape: (name: string) => name.replaceAll('+', ' and '),
  yourDraft: (kind: string, changed: string) => `${kindText(kind)}, last changed ${changed}`,
  empty: (label: string) => `${label}: nothing yet, and it is needed`,
  wrong: (label: string, found: string | undefined, expected: string, remedy: string) =>
    `${label}: ${foundText(found, expected)}; ${remedy}`,
};

/** What stands beside a code that a form offers. */
export const KNOWN_CODES = {
  entry: (name: string, revision: number) => (revision > 1 ? `${name}, revision ${revision}` : name),
  here: 'of this lot',
};

/** Where people look for a kind: the words at the head of each page. What stands nowhere is about families. */
export const KIND_GROUPS = [
  {
    id: 'materials',
    title: 'Materials and equipment',
    kinds: [
      ...['supplier', 'material-specification', 'receipt', 'powder-state', 'consumable', 'changeover', 'risk-build'],
      ...[
        'machine',
        'channel-map',
        'instrument',
        'instrument-profile',
        'certificate-profile',
        'storage-place',
        'test-medium',
        'stock-part',
        'person',
      ],
    ],
  },
  {
    id: 'lots',
    title: 'Lots',
    kinds: [
      ...['lot', 'process-load', 'exposure', 'nonconformity', 'rework-instruction', 'unit-move', 'corrective-action'],
      ...['handover', 'outcome', 'unit-return', 'complaint', 'disposal', 'impact', 'recall'],
    ],
  },
  { id: 'families', title: 'Families', kinds: [] },
] as const satisfies readonly { id: string; title: string; kinds: readonly string[] }[];

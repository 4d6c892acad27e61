import type { z } from 'zod';
import type { LegalRoute, MaterialCategory, RecipeStep, Side, StepAfterBuild } from '../../kinds/fields.js';
import type { Instrument } from '../../kinds/instrument.js';
import type { NamedFile } from '../../kinds/kind.js';
import type { UPKEEP } from '../../kinds/machine.js';
import type { PowderState } from '../../kinds/powder-state.js';
import type { Receipt } from '../../kinds/receipt.js';
import type { Characteristic } from '../../kinds/specification.js';
import { textBy } from './coded.js';
import { kindText } from './kinds.js';

/** What documents say by a code of the trade, as people read it. */

/** What is done to a part, by the machine and after the build. */
export const STEPS: Readonly<Record<RecipeStep | StepAfterBuild, string>> = {
  deposit: 'deposition',
  peen: 'peening',
  mill: 'milling',
  clean: 'cleaning',
  etch: 'etching',
  'heat-treat': 'heat treatment',
  coat: 'coating',
  passivate: 'passivation',
  dry: 'drying',
  inspect: 'inspection',
  pack: 'packing',
  sterilise: 'sterilisation',
};

/** What made a state of powder. */
export const POWDER_OPERATIONS: Readonly<Record<PowderState['operation'], string>> = {
  fill: 'filled',
  blend: 'blended',
  'top-up': 'topped up',
  sieve: 'sieved',
  dry: 'dried',
  recover: 'recovered',
  split: 'split',
  purge: 'purged',
  discard: 'discarded',
};

/** How a receipt stands. */
export const RECEIPT_STATUSES: Readonly<Record<Receipt['status'], string>> = {
  quarantine: 'in quarantine',
  accepted: 'accepted',
  rejected: 'rejected',
};

/** Whether powder was new. */
export const POWDER_USE: Readonly<Record<NonNullable<Receipt['state']>, string>> = {
  virgin: 'virgin',
  used: 'used before',
};

/** What material is for. */
export const MATERIAL_CATEGORIES: Readonly<Record<z.infer<typeof MaterialCategory>, string>> = {
  powder: 'powder',
  gas: 'gas',
  'peening media': 'peening media',
  tool: 'tool',
  filter: 'filter',
  chemical: 'chemical',
  'coating material': 'coating material',
  'test medium': 'test medium',
  packaging: 'packaging',
  'stock part': 'stock part',
  other: 'other material',
};

/** How an instrument was found, and how it was left. */
export const TOLERANCES: Readonly<Record<Instrument['calibrations'][number]['asFound'], string>> = {
  'in tolerance': 'in tolerance',
  'out of tolerance': 'out of tolerance',
  'not recorded': 'not recorded',
};

/** What a machine is looked after for. */
export const UPKEEP_WORDS: Readonly<Record<(typeof UPKEEP)[number], string>> = {
  maintenance: 'maintenance',
  'leak test': 'leak test',
  'power check': 'power check',
};

/** By when a test must be done. */
export const TESTS_DUE: Readonly<Record<Characteristic['due'], string>> = {
  'before-build': 'before the build',
  'before-sterilisation': 'before sterilisation',
  'before-release': 'before release',
  'after-release': 'after release',
};

/** What a test is made on. */
export const MEASURED_ON: Readonly<Record<Characteristic['measuredOn'], string>> = {
  implant: 'implant',
  coupon: 'coupon',
};

/** Side of the body. */
export const SIDES: Readonly<Record<z.infer<typeof Side>, string>> = {
  left: 'left',
  right: 'right',
  midline: 'midline',
  'not sided': 'not sided',
};

/** Legal route of a family. */
export const ROUTES: Readonly<Record<z.infer<typeof LegalRoute>, string>> = {
  market: 'market',
  'patient-matched': 'patient-matched',
  'custom-made': 'custom-made',
  investigational: 'investigational',
  'in-house': 'in-house',
};

/** What a file is evidence of. */
export const FILE_USES: Readonly<Record<NamedFile['name'] | 'document as received', string>> = {
  certificate: 'certificate',
  log: 'process log',
  'units of a log': 'units of a log',
  results: 'results',
  report: 'report',
  scan: 'scan',
  model: 'model',
  attachment: 'attachment',
  approval: 'approval',
  'personal data': 'personal data',
  'document as received': 'document as received',
};

export const stepText = textBy(STEPS);
export const powderOperationText = textBy(POWDER_OPERATIONS);
export const receiptStatusText = textBy(RECEIPT_STATUSES);
export const powderUseText = textBy(POWDER_USE);
export const materialCategoryText = textBy(MATERIAL_CATEGORIES);
export const toleranceText = textBy(TOLERANCES);
export const upkeepText = textBy(UPKEEP_WORDS);
export const testDueText = textBy(TESTS_DUE);
export const measuredOnWord = textBy(MEASURED_ON);
export const sideText = textBy(SIDES);
export const routeText = textBy(ROUTES);

const fileUse = textBy(FILE_USES);

/** What is of a document names it: `approval of recipe R-1`. */
export function fileUseText(use: string): string {
  const [, name, kind, key] = /^(.+?) of (\S+) (.+)$/.exec(use) ?? [];
  return name === undefined || Object.hasOwn(FILE_USES, use)
    ? fileUse(use)
    : `${fileUse(name)} of ${kindText(kind!)} ${key}`;
}

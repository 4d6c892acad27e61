import { digestOf } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import type { SignedSubject } from '../dossier/statement.js';
import type { Case } from '../kinds/case.js';
import type { Family } from '../kinds/family.js';
import type { Implant } from '../kinds/lot.js';

/** Fields without which nothing can be stated. */
export const STATED_FIELDS = [
  'family.manufacturer',
  'family.manufacturer.sites',
  'family.conformity',
  'case',
  'case.prescribedCharacteristics',
] as const;
export type StatedField = (typeof STATED_FIELDS)[number];

/** All that the statement of a custom-made device says (Regulation (EU) 2017/745 Annex XIII, 1, from memory). */
export interface CustomStatement {
  readonly manufacturer: NonNullable<Family['manufacturer']>;
  readonly conformity: NonNullable<Family['conformity']>;
  readonly device: {
    readonly name: string;
    readonly alloy: string;
    readonly serial: string;
    readonly lot: string;
    readonly iteration: number;
  };
  /** Code of the case: who the patient is stays with the institution. */
  readonly patient: string;
  readonly prescriber: Case['prescriber'];
  readonly prescription: Case['prescription'];
  readonly prescribedCharacteristics: string;
  readonly anatomicalSite: string;
  readonly side: Case['side'];
}

/** The statement on one implant, or the fields that are missing for it. */
export function customStatement(
  { family, cases, lot }: Facts,
  { serial, case: code, designIteration }: Implant,
): CustomStatement | { readonly lacks: readonly StatedField[] } {
  const found = cases.get(code)?.body;
  const { manufacturer, conformity, model, title, alloy } = family.body;
  const values: Readonly<Record<StatedField, unknown>> = {
    'family.manufacturer': manufacturer,
    'family.manufacturer.sites': manufacturer?.sites.length,
    'family.conformity': conformity,
    case: found,
    'case.prescribedCharacteristics': found?.prescribedCharacteristics,
  };
  const lacks = STATED_FIELDS.filter((field) => !values[field]);
  if (lacks.length > 0) return { lacks };
  return {
    manufacturer: manufacturer!,
    conformity: conformity!,
    device: { name: model ?? title, alloy, serial, lot: lot.body.lot, iteration: designIteration },
    patient: code,
    prescriber: found!.prescriber,
    prescription: found!.prescription,
    prescribedCharacteristics: found!.prescribedCharacteristics!,
    anatomicalSite: found!.anatomicalSite,
    side: found!.side,
  };
}

/** A signature covers every word of it: another prescriber, another exception, and it has to be signed again. */
export const statementSubject = (statement: CustomStatement): SignedSubject => ({
  kind: 'custom statement',
  key: `${statement.device.lot}:${statement.device.serial}`,
  revision: null,
  digest: digestOf(statement),
});

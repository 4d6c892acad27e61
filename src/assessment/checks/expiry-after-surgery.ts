import type { Facts } from '../../dossier/facts.js';
import type { Implant } from '../../kinds/lot.js';
import { expiryOf } from '../expiry.js';
import { stepsOf } from '../loads.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** No day is told: the finding goes into copies for the institutions of other cases. */
export const expiryAfterSurgery: Check = {
  code: 'expiry-after-surgery',
  since: 1,
  clause: 'ISO 13485:2016 7.5.11, 7.5.8; ISO 11607-1, shelf life (from memory)',
  moment: 'release',
  looksAtCases: true,
  run(facts) {
    const packed = facts.lot.body.implants.filter(({ serial }) => stepsOf(facts, serial, 'pack').length > 0);
    return {
      findings: packed.flatMap((implant) => fault(facts, implant)),
      basis: { implants: String(packed.length) },
      doesNotApply: packed.length === 0,
    };
  },
};

function fault(facts: Facts, implant: Implant): FindingDraft[] {
  const { serial, case: code } = implant;
  const expiry = expiryOf(facts, implant);
  const wanted = facts.cases.get(code)?.body;
  const common = { subjects: [subject('implant', serial)], facts: { unit: serial, case: code }, units: [serial] };
  if (expiry === undefined) {
    // What is delivered sterile stays so for a time that somebody has shown.
    if (facts.family.body.sterile !== 'sterile') return [];
    return [{ ...common, rule: 'no expiry', effect: 'cannot be decided' }];
  }
  const day = wanted?.surgeryOn ?? wanted?.neededBy;
  if (day === undefined || expiry.day > day) return [];
  return [{ ...common, rule: 'expires before it is used', effect: 'does not conform' }];
}

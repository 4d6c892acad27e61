import type { Facts } from '../../dossier/facts.js';
import { revisionSubject } from '../../dossier/signable.js';
import type { ClaimNote } from '../assessment.js';
import { type BuiltDesign, builtDesigns } from '../built-designs.js';
import { noteOf, signedOn } from '../signed.js';
import { type Check, isAfter, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** Never conceded: the implant is for the patient of whoever prescribed it. */
export const designAccepted: Check = {
  code: 'design-accepted',
  since: 1,
  clause: 'ISO 13485:2016 7.2.2, 7.3.7; Regulation (EU) 2017/745 Annex XIII, 1 (from memory)',
  moment: 'build',
  looksAtCases: true,
  run(facts) {
    const claims: ClaimNote[] = [];
    const asked = builtDesigns(facts).filter(({ isAsked }) => isAsked);
    return {
      findings: asked.flatMap((built) => findingsOf(facts, built, claims)),
      claims,
      basis: { designs: String(asked.length) },
      doesNotApply: asked.length === 0,
    };
  },
};

function findingsOf(facts: Facts, built: BuiltDesign, claims: ClaimNote[]): FindingDraft[] {
  const { code, iteration, design, acceptance, serials, builtAt, models, case: prescribed } = built;
  const finding = (rule: string, more: Partial<FindingDraft> = {}): FindingDraft => ({
    rule,
    subjects: [subject('case', code)],
    effect: 'cannot be decided',
    units: serials,
    ...more,
    facts: { case: code, iteration: String(iteration), ...more.facts },
  });
  if (!acceptance) return [finding('not accepted', { wantsEvidence: true })];
  const { by, at, model, original, enteredBy } = acceptance.body;
  const checked = signedOn(facts, revisionSubject(acceptance), 'checked').find(
    ({ person }) => person.code !== enteredBy,
  );
  if (checked) {
    const standing = { how: 'signed' as const, by: checked.person.code, at: checked.at };
    claims.push(noteOf('approval', { kind: acceptance.kind, key: acceptance.key }, standing));
  }
  const isPrescriber = by.name === prescribed.prescriber.name && by.institution === prescribed.prescriber.institution;
  return [
    ...(isAfter(at, builtAt)
      ? [
          finding('accepted after the build', {
            effect: 'blocks release',
            facts: { acceptedAt: at, closedAt: builtAt },
          }),
        ]
      : []),
    ...(design === undefined || models.includes(model)
      ? []
      : [finding('another model accepted', { effect: 'does not conform' })]),
    ...(isPrescriber ? [] : [finding('accepted by somebody else')]),
    ...(original === undefined ? [finding('no original', { wantsEvidence: true })] : []),
    ...(checked ? [] : [finding('not checked', { wantsEvidence: true, facts: { enteredBy } })]),
  ];
}

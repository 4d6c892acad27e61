import { canonicalJson } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import { certificateSubject } from '../../dossier/signable.js';
import type { Receipt } from '../../kinds/receipt.js';
import {
  type AskedLine,
  askedOfReceipt,
  orderedTo,
  ownTests,
  type StatedLine,
  standingOfLine,
} from '../material-lines.js';
import { receiptsOfBuild } from '../materials.js';
import { signedOn } from '../signed.js';
import { type Check, subject, unitsOfBuild } from './check.js';
import type { FindingDraft, Told } from './finding-draft.js';

type Common = Pick<FindingDraft, 'subjects' | 'units'>;

function findingsOf(facts: Facts, build: string, code: string): FindingDraft[] {
  const receipt = facts.receipts.get(code)!.body;
  const asked = askedOfReceipt(facts, receipt);
  if (asked.length === 0) return [];
  const common = { subjects: [subject('receipt', code), subject('build', build)], units: unitsOfBuild(facts, build) };
  const what = { receipt: code, material: receipt.material };
  const tested = asked.filter(({ from }) => from === 'own test').flatMap((line) => tests(facts, receipt, line, common));
  const { certificate } = receipt;
  const certified = asked.filter(({ from }) => from === 'certificate');
  if (!certificate) {
    const none: FindingDraft = {
      ...common,
      rule: 'no certificate',
      facts: { ...what, build },
      effect: 'cannot be decided',
    };
    return certified.length === 0 ? tested : [none, ...tested];
  }
  const findings: FindingDraft[] = [];
  const checks = signedOn(facts, certificateSubject(receipt), 'checked');
  const checked = checks.some((statement) => statement.person.code !== certificate.transcribedBy);
  if (!checked) {
    findings.push({
      ...common,
      rule: 'transcription not checked',
      facts: {
        ...what,
        certificate: certificate.number,
        transcribedBy: certificate.transcribedBy,
        claimedBy: certificate.checkedBy ?? '',
      },
      effect: 'cannot be decided',
    });
  }
  for (const limit of certified) {
    const line = certificate.lines.find((item) => item.property === limit.property);
    const told = { ...what, certificate: certificate.number, ...toldOf(limit) };
    if (line) findings.push(...against(line, limit, receipt, told, common));
    else findings.push({ ...common, rule: 'line missing', facts: told, effect: 'cannot be decided' });
  }
  return [...findings, ...tested];
}

/** What the cell tests itself. Where tests may be skipped, one that is not there was skipped. */
function tests(facts: Facts, receipt: Receipt, limit: AskedLine, common: Common): FindingDraft[] {
  const told = { receipt: receipt.receipt, material: receipt.material, ...toldOf(limit) };
  const found = ownTests(facts, receipt.receipt, limit.property);
  if (found.length === 0 && orderedTo(facts, receipt)?.body.skipTest === undefined) {
    return [{ ...common, rule: 'own test missing', facts: told, effect: 'cannot be decided' }];
  }
  return found.flatMap((test) => against(test, limit, receipt, told, common));
}

const toldOf = ({ property, lower, upper, ucum, ordered }: AskedLine): Told => ({
  property,
  ...(lower === undefined ? {} : { lower }),
  ...(upper === undefined ? {} : { upper }),
  limitUnit: ucum,
  ...(ordered === undefined ? {} : { ordered }),
});

function against(
  { value, ucum }: StatedLine,
  limit: AskedLine,
  { category }: Receipt,
  told: Told,
  common: Common,
): FindingDraft[] {
  const standing = standingOfLine({ value, ucum }, limit, category);
  if (standing === 'conforms') return [];
  const facts = { ...told, value, unit: ucum };
  if (standing === 'units do not compare' || standing === 'basis not stated') {
    return [{ ...common, rule: standing, facts, effect: 'cannot be decided' }];
  }
  const rule = standing === 'does not conform' ? 'outside limits' : 'not decidable';
  return [{ ...common, rule, facts, effect: standing, mayBeDecided: 'concession' }];
}

export const certificatesWithinLimits: Check = {
  code: 'certificates-within-limits',
  since: 1,
  clause: 'ISO 13485:2016 7.4.3',
  moment: 'build',
  run(facts) {
    const looked = new Map<string, [string, string]>();
    const findings = facts.lot.body.builds.flatMap(({ build }) =>
      receiptsOfBuild(facts, build).flatMap((code) => {
        const { certificate } = facts.receipts.get(code)!.body;
        if (certificate) looked.set(code, [certificate.number, code]);
        return findingsOf(facts, build, code);
      }),
    );
    return {
      findings,
      basis: { certificates: canonicalJson([...looked.values()]) },
      doesNotApply: facts.specification.body.materials.length === 0 && facts.materialSpecifications.size === 0,
    };
  },
};

import { convert } from '../../base/units.js';
import { canonicalJson } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import { readReported } from '../../dossier/reported-value.js';
import { certificateSubject } from '../../dossier/signable.js';
import { compareWithLimits } from '../limits.js';
import { gasReceiptsOfBuild, powderReceiptsOfBuild } from '../materials.js';
import { signedOn } from '../signed.js';
import { type Check, subject, unitsOfBuild } from './check.js';
import type { FindingDraft } from './finding-draft.js';

function findingsOf(facts: Facts, build: string, code: string): FindingDraft[] {
  const receipt = facts.receipts.get(code)!.body;
  const limits = facts.specification.body.materials.filter((limit) => limit.material === receipt.material);
  if (limits.length === 0) return [];
  const common = { subjects: [subject('receipt', code), subject('build', build)], units: unitsOfBuild(facts, build) };
  const what = { receipt: code, material: receipt.material };
  const { certificate } = receipt;
  if (!certificate) {
    return [
      {
        ...common,
        rule: 'no certificate',
        facts: { ...what, build },
        effect: 'cannot be decided',
      },
    ];
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
  for (const limit of limits) {
    const line = certificate.lines.find((item) => item.property === limit.property);
    const at = {
      ...what,
      certificate: certificate.number,
      property: limit.property,
      ...(limit.lower === undefined ? {} : { lower: limit.lower }),
      ...(limit.upper === undefined ? {} : { upper: limit.upper }),
      limitUnit: limit.ucum,
    };
    if (!line) {
      findings.push({
        ...common,
        rule: 'line missing',
        facts: at,
        effect: 'cannot be decided',
      });
      continue;
    }
    const value = readReported(line.value);
    const converted = convert(value.number, line.ucum, limit.ucum);
    const verdict = compareWithLimits({ ...value, number: converted }, limit);
    if (verdict === 'conforms') continue;
    findings.push({
      ...common,
      rule: verdict === 'does not conform' ? 'outside limits' : 'not decidable',
      facts: { ...at, value: line.value, unit: line.ucum },
      effect: verdict,
      mayBeDecided: 'concession',
    });
  }
  return findings;
}

export const certificatesWithinLimits: Check = {
  code: 'certificates-within-limits',
  since: 1,
  clause: 'ISO 13485:2016 7.4.3',
  moment: 'build',
  run(facts) {
    const { materials } = facts.specification.body;
    const looked = new Map<string, [string, string]>();
    const findings = facts.lot.body.builds.flatMap(({ build }) =>
      [...powderReceiptsOfBuild(facts, build), ...gasReceiptsOfBuild(facts, build)].flatMap((code) => {
        const { certificate } = facts.receipts.get(code)!.body;
        if (certificate) looked.set(code, [certificate.number, code]);
        return findingsOf(facts, build, code);
      }),
    );
    return {
      findings,
      basis: { certificates: canonicalJson([...looked.values()]) },
      doesNotApply: materials.length === 0,
    };
  },
};

import type { Facts } from '../../dossier/facts.js';
import { readReported } from '../../dossier/reported-value.js';
import { certificateSubject } from '../../dossier/signable.js';
import { convert } from '../../units.js';
import { compareWithLimits, limitsText } from '../limits.js';
import { gasReceiptsOfBuild, powderReceiptsOfBuild } from '../materials.js';
import { signedOn } from '../signed.js';
import { type Check, CONCEDE, type FindingDraft, subject, unitsOfBuild } from './check.js';

function findingsOf(facts: Facts, build: string, code: string): FindingDraft[] {
  const receipt = facts.receipts.get(code)!.body;
  const limits = facts.specification.body.materials.filter((limit) => limit.material === receipt.material);
  if (limits.length === 0) return [];
  const common = { subjects: [subject('receipt', code), subject('build', build)], units: unitsOfBuild(facts, build) };
  const what = `${receipt.material}, receipt ${code}`;
  const { certificate } = receipt;
  if (!certificate) {
    return [
      {
        ...common,
        rule: 'no certificate',
        facts: { receipt: code },
        effect: 'cannot be decided',
        says: `${what} went into ${build} and has no certificate.`,
        clearedBy: 'Operator: take in the certificate. "Certificate to follow" never releases.',
      },
    ];
  }
  const findings: FindingDraft[] = [];
  const checks = signedOn(facts, certificateSubject(receipt), 'checked');
  const checked = checks.some((statement) => statement.person.code !== certificate.transcribedBy);
  if (!checked) {
    const claimed =
      certificate.checkedBy === undefined ? 'nobody' : `${certificate.checkedBy}, as the file claims and nobody signed`;
    findings.push({
      ...common,
      rule: 'transcription not checked',
      facts: { receipt: code, certificate: certificate.number, transcribedBy: certificate.transcribedBy },
      effect: 'cannot be decided',
      says: `Certificate ${certificate.number} of ${what} was transcribed by ${certificate.transcribedBy} and checked by ${claimed}.`,
      clearedBy: 'A second person: compare each line with the certificate and sign it as checked.',
    });
  }
  for (const limit of limits) {
    const line = certificate.lines.find((item) => item.property === limit.property);
    const range = `${limitsText(limit)} ${limit.ucum}`;
    const at = { receipt: code, certificate: certificate.number, property: limit.property };
    if (!line) {
      findings.push({
        ...common,
        rule: 'line missing',
        facts: { ...at, limit: range },
        effect: 'cannot be decided',
        says: `Certificate ${certificate.number} of ${what} states no ${limit.property} (limit ${range}).`,
        clearedBy: 'Quality engineer: get the value from the supplier or have it measured.',
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
      facts: { ...at, value: `${line.value} ${line.ucum}`, limit: range },
      effect: verdict,
      mayBeDecided: 'concession',
      says:
        verdict === 'does not conform'
          ? `${limit.property} of ${what} is ${line.value} ${line.ucum}, limit ${range}.`
          : `${limit.property} of ${what} is reported as ${line.value} ${line.ucum}: whether it keeps ${range} is open.`,
      clearedBy:
        verdict === 'does not conform'
          ? CONCEDE
          : 'Analyst: have it measured by a method whose detection limit lies below the limit.',
    });
  }
  return findings;
}

export const certificatesWithinLimits: Check = {
  code: 'certificates-within-limits',
  title: 'Certificates complete and within limits',
  clause: 'ISO 13485:2016 7.4.3',
  moment: 'build',
  asks: 'Does every material certificate state each property that the specification limits, within its limits?',
  run(facts) {
    const { materials } = facts.specification.body;
    const looked: string[] = [];
    const findings = facts.lot.body.builds.flatMap(({ build }) =>
      [...powderReceiptsOfBuild(facts, build), ...gasReceiptsOfBuild(facts, build)].flatMap((code) => {
        const { certificate } = facts.receipts.get(code)!.body;
        if (certificate) looked.push(`certificate ${certificate.number} of receipt ${code}`);
        return findingsOf(facts, build, code);
      }),
    );
    return {
      findings,
      basis: [...new Set(looked)].join('; '),
      ...(materials.length === 0 ? { doesNotApply: 'the specification limits no property of a material' } : {}),
    };
  },
};

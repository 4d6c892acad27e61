import type { ReleaseStep } from '../../dossier/release-step.js';
import { ABSENT } from './absent.js';
import { HEADS } from './heads.js';
import { releaseStepText } from './release-steps.js';

/** Words of the section "release" of the lot record. */
export const RELEASE = {
  maker: 'Maker, address, sites',
  makerOf: (name: string, address: string, sites: readonly string[]) =>
    `${name}, ${address}; ${sites.length === 0 ? 'no site named' : `made at ${sites.join('; ')}`}`,
  kept: 'Kept at least until',
  keptUntil: (until: string, rule: string, says: string) =>
    `${until}, by the rule "${rule}": ${says}. A legal hold or a later release may ask for more.`,
  ensuresConformity: 'Ensures conformity (Regulation (EU) 2017/745 article 15)',
  nobody: 'the family names nobody',
  bodyCertificate: 'Certificate of the notified body',
  bodyCertificateOf: (number: string, body: string, scope: string, expiry: string) =>
    `${number} of ${body}, ${scope}, until ${expiry}`,
  noBodyCertificate: 'the family names none',
  gates: 'Gates of the route, all of which an implant has to pass before it may be distributed',
  gate: 'Gate and how it stands',
  revokedFor: (step: ReleaseStep) => `release for ${releaseStepText(step)} revoked`,
  states: 'Holds, revocations and changed verdicts, conditions of releases and refused acts',
  what: 'What',
  implants: 'Implants',
  at: 'At',
  by: 'By',
  reason: 'Reason',
  wholeLot: HEADS.wholeLot,
  none: ABSENT.noneSentence,
  checks: 'Release checks in the order in which a lot meets them',
  clauses:
    'A number without a name is a clause of ISO 13485:2016; MDR is Regulation (EU) 2017/745, FDA AM the guidance on additive manufacturing of 2017.',
  shortened: [
    ['ISO 13485:2016 ', ''],
    ['FDA additive manufacturing guidance (2017)', 'FDA AM'],
    ['Regulation (EU) 2017/745', 'MDR'],
  ] as const,
  check: 'Check',
  serves: 'Serves',
  outcome: 'Outcome',
  lookedAt: 'Looked at',
  notAsked: 'Checks that do not apply to this lot',
  why: 'Why',
  lookedAtNothing: 'nothing',
  openTests: 'Tests that are due after release and not there yet',
  implant: 'Implant',
  characteristic: 'Characteristic',
  lateFrom: 'Late from',
  findings: 'What stands against release, and what would clear it',
  effect: 'Effect',
  clearedBy: 'Who can clear it, and how',
  half: 'by one of two people',
  decided: (how: string) => ` Decided: ${how}.`,
  nothingMore: 'Nothing more: the decision lifts it.',
  letGo: (nonconformity: string, units: readonly string[]) =>
    `${units.join(', ')}: let go as it is by the concession of ${nonconformity}; the verdict stays.`,
  noFinding: 'Nothing.',
  ofLot: 'Signed on the lot file, the last first',
  statements: 'Signed on what it rests on, each person by meaning, in the order of signing',
  atTime: (at: string) => `${at}: `,
  whatAndContent: 'When and what, with its signed content',
  entryOf: (entry: number | undefined) => (entry === undefined ? '' : `, entry ${entry}`),
  whatFor: (what: string, reason: string) => `${what}: ${reason}`,
  earlierState: ', an earlier state of the lot file',
  signedBy: HEADS.signedBy,
  signedByAs: 'Signed by; meaning; independence',
  meaningAndTime: 'Meaning; signed at',
  asAndWhen: (as: string, at: string) => `${as}; ${at}`,
  independenceAndReason: 'Independence; reason',
  howAndWhy: (independence: string, reason: string) => `${independence}; reason: ${reason}`,
  keysOfPeople: 'Keys of those who signed, and of those who vouch for them',
  fingerprint: 'Fingerprint of the key, SHA-256',
  keyMade: 'Made; who vouches',
  madeAndVouched: (day: string, vouched: string) => `${day}; ${vouched}`,
  nobodySigned: 'Nobody has signed this lot file.',
  contentNote:
    'The signed content is named by the first 12 digits of its SHA-256: of the canonical JSON of a document, a certificate or a lot file, or the identity of a finding. One statement may cover several things of one kind and names each. Statements stand whole in dossier.json, in the parts of cases and in enclosure.json, with the signatures of the person and of the installation over each. An entry is one of the audit trail.',
};

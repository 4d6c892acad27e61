import type { Facts } from '../../dossier/facts.js';
import { agrees, type Claim, claimsOf } from '../claims.js';
import { receiptsOfBuild } from '../materials.js';
import { unitsOfSpecimen } from '../specimens.js';
import { type Check, subject, unitsOfBuild } from './check.js';
import type { FindingDraft } from './finding-draft.js';

export const claimsAgree: Check = {
  code: 'claims-agree',
  since: 1,
  clause: 'ISO 13485:2016 4.2.5; 21 CFR 11.10(e), 11.50, 11.70',
  moment: 'build',
  looksAtCases: true,
  run(facts) {
    const claims = claimsOf(facts);
    const signed = claims.filter((claim) => claim.signed.length > 0);
    return {
      findings: signed.filter((claim) => !agrees(claim)).map((claim) => differing(facts, claim)),
      basis: { signed: String(signed.length), claims: String(claims.length) },
      doesNotApply: claims.length === 0,
    };
  },
};

/** Which of the two is true nobody can compute: whoever knows mends the file, or two people decide. */
function differing(facts: Facts, claim: Claim): FindingDraft {
  const { kind, key, revision, meaning, claimed, signed, outcome } = claim;
  const signers = signed.map(({ person, outcome: decided }) =>
    outcome === null ? `${person.name} (${person.code})` : `${person.name} (${person.code}): ${decided}`,
  );
  const name = facts.people.get(claimed)?.body.name;
  return {
    rule: 'another signer',
    subjects: [subject(kind, key), subject('person', claimed)],
    facts: {
      kind,
      document: revision === null ? key : `${key} rev ${revision}`,
      meaning,
      claimedBy: `${name === undefined ? claimed : `${name} (${claimed})`}${outcome === null ? '' : `: ${outcome}`}`,
      by: [...new Set(signers)].join(', '),
    },
    effect: 'cannot be decided',
    mayBeDecided: 'decision',
    units: unitsTouched(facts, claim),
  };
}

/** Implants that rest on what is claimed; none where all of them do. */
function unitsTouched(facts: Facts, { kind, key }: Claim): string[] {
  if (kind === 'receipt' || kind === 'certificate') {
    const builds = facts.lot.body.builds.filter(({ build }) => receiptsOfBuild(facts, build).includes(key));
    return builds.flatMap(({ build }) => unitsOfBuild(facts, build));
  }
  if (kind === 'result-set') {
    const evidence = [...facts.resultSets.values()].find((sheet) => sheet.key === key)?.body.evidence;
    const rows = facts.results.filter((row) => row.evidence === evidence);
    return [...new Set(rows.flatMap(({ specimen }) => unitsOfSpecimen(facts, specimen)))].sort();
  }
  const cases = [...facts.caseParts]
    .filter(([, part]) => part.pinned.some((item) => item.kind === kind && item.key === key))
    .map(([code]) => code);
  const isOfLot = facts.dossier.pinned.some((item) => item.kind === kind && item.key === key);
  return isOfLot
    ? []
    : facts.lot.body.implants.filter((implant) => cases.includes(implant.case)).map(({ serial }) => serial);
}

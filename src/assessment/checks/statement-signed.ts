import { lawsOfCase } from '../../kinds/laws.js';
import { isNeeded } from '../../kinds/route-needs.js';
import type { ClaimNote } from '../assessment.js';
import { customStatement, statementSubject } from '../custom-statement.js';
import { approvalOf, signedOn } from '../signed.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

export const statementSigned: Check = {
  code: 'statement-signed',
  since: 1,
  clause: 'Regulation (EU) 2017/745 article 52(8), Annex XIII, 1 (from memory)',
  moment: 'release',
  looksAtCases: true,
  run(facts) {
    const claims: ClaimNote[] = [];
    const asked = facts.lot.body.implants.filter(({ case: code }) => {
      const body = facts.cases.get(code)?.body;
      return body !== undefined && isNeeded('statement', lawsOfCase(facts.family.body, body));
    });
    const findings = asked.flatMap((implant): FindingDraft[] => {
      const { serial } = implant;
      const common = { effect: 'cannot be decided' as const, wantsEvidence: true as const, units: [serial] };
      const stated = customStatement(facts, implant);
      if ('lacks' in stated) {
        const lacks = stated.lacks.join(', ');
        return [
          { ...common, rule: 'not complete', subjects: [subject('implant', serial)], facts: { unit: serial, lacks } },
        ];
      }
      const on = statementSubject(stated);
      const [signed] = signedOn(facts, on, 'approved');
      if (signed) {
        claims.push(approvalOf(on.kind, on.key, { how: 'signed', by: signed.person.code, at: signed.at }));
        return [];
      }
      const told = { unit: serial, statement: on.digest };
      return [{ ...common, rule: 'not signed', subjects: [subject(on.kind, on.key)], facts: told }];
    });
    return { findings, claims, basis: { units: String(asked.length) }, doesNotApply: asked.length === 0 };
  },
};

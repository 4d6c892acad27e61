import type { Facts } from '../../dossier/facts.js';
import type { MaterialSpecification } from '../../kinds/material-specification.js';
import { orderedTo } from '../material-lines.js';
import { receiptsOfBuild } from '../materials.js';
import { type Check, subject, unitsOfBuild } from './check.js';
import type { FindingDraft } from './finding-draft.js';

export const supplierApproved: Check = {
  code: 'supplier-approved',
  since: 1,
  clause: 'ISO 13485:2016 7.4.1',
  moment: 'build',
  run(facts) {
    const looked = new Set<string>();
    const findings = facts.lot.body.builds.flatMap(({ build }) =>
      receiptsOfBuild(facts, build).flatMap((code) => {
        const ordered = orderedTo(facts, facts.receipts.get(code)!.body)?.body;
        if (ordered === undefined) return [];
        looked.add(code);
        return findingsOf(facts, build, code, ordered);
      }),
    );
    return { findings, basis: { receipts: [...looked].join(', ') }, doesNotApply: looked.size === 0 };
  },
};

function findingsOf(facts: Facts, build: string, code: string, ordered: MaterialSpecification): FindingDraft[] {
  const { supplier, receivedAt, material } = facts.receipts.get(code)!.body;
  const day = receivedAt.slice(0, 10);
  const names = [ordered.material, ordered.title].map(plain);
  const ofScope = facts.suppliers.get(supplier)!.body.approvals.filter(({ scope }) => names.includes(plain(scope)));
  if (ofScope.some(({ from, to }) => from <= day && day <= to)) return [];
  return [
    {
      rule: ofScope.length === 0 ? 'not approved for it' : 'not approved on the day',
      subjects: [subject('receipt', code), subject('supplier', supplier), subject('build', build)],
      facts: {
        receipt: code,
        material,
        supplier,
        scope: ordered.title,
        day,
        ...(ofScope.length === 0 ? {} : { within: ofScope.map(({ from, to }) => `${from} to ${to}`).join(', ') }),
      },
      effect: 'cannot be decided',
      units: unitsOfBuild(facts, build),
      mayBeDecided: 'concession',
    },
  ];
}

/** A scope names its material in whatever letters and spaces. */
const plain = (text: string): string => text.trim().toLowerCase().replace(/\s+/g, ' ');

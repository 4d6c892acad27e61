import { type Facts, revisionKey } from '../../dossier/facts.js';
import type { Withdrawal } from '../../dossier/schema.js';
import { allUnits, type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

export const documentsNotWithdrawn: Check = {
  code: 'documents-not-withdrawn',
  since: 1,
  clause: 'ISO 13485:2016 4.2.4',
  moment: 'build',
  looksAtCases: true,
  run(facts) {
    return {
      findings: [
        ...facts.dossier.withdrawn.map((item) => ({
          ...withdrawn(item),
          facts: { ...withdrawn(item).facts, reason: item.reason },
          units: allUnits(facts),
        })),
        ...withdrawnOfCases(facts),
      ],
      basis: { pinned: String(facts.dossier.pinned.length) },
    };
  },
};

const withdrawn = ({ kind, key, revision, at, by }: Withdrawal): Omit<FindingDraft, 'units'> => ({
  rule: 'withdrawn for cause',
  subjects: [subject(kind, key)],
  facts: { kind, document: revisionKey(key, revision), at, by },
  effect: 'cannot be decided',
  mayBeDecided: 'concession',
});

/** Each document once, with the implants of every case that rests on it. The reason stands with the case. */
function withdrawnOfCases({ caseParts, lot }: Facts): FindingDraft[] {
  const found = new Map<string, { readonly item: Withdrawal; readonly cases: string[] }>();
  for (const [code, part] of caseParts) {
    for (const item of part.withdrawn) {
      const name = `${item.kind} ${revisionKey(item.key, item.revision)}`;
      const known = found.get(name);
      if (known) known.cases.push(code);
      else found.set(name, { item, cases: [code] });
    }
  }
  return [...found.values()].map(({ item, cases }) => ({
    ...withdrawn(item),
    units: lot.body.implants.filter((implant) => cases.includes(implant.case)).map(({ serial }) => serial),
  }));
}

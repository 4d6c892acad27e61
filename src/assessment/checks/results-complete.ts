import { currentResults, specimensFor } from '../specimens.js';
import { type Check, type FindingDraft, subject } from './check.js';

export const resultsComplete: Check = {
  code: 'results-complete',
  title: 'Every planned characteristic has its results',
  clause: 'ISO 13485:2016 8.2.6',
  moment: 'release',
  asks: 'Does each implant have every planned value, from a specimen of its own build?',
  run(facts) {
    const { implants } = facts.lot.body;
    const { characteristics } = facts.specification.body;
    const present = new Map<string, Set<string>>();
    for (const result of currentResults(facts)) {
      const key = `${result.specimen} ${result.characteristic}`;
      present.set(key, (present.get(key) ?? new Set()).add(`${result.piece}/${result.replicate}`));
    }
    const missing = new Map<string, FindingDraft & { units: string[] }>();
    const note = (id: string, unit: string, draft: () => Omit<FindingDraft, 'units' | 'effect'>) => {
      const known = missing.get(id);
      if (known) known.units.push(unit);
      else missing.set(id, { ...draft(), effect: 'cannot be decided', units: [unit] });
    };
    let planned = 0;
    for (const implant of implants) {
      for (const item of characteristics) {
        const specimens = specimensFor(facts, implant, item);
        planned += specimens.length * item.replicates;
        if (specimens.length === 0) {
          note(`${item.characteristic} ${implant.serial}`, implant.serial, () => ({
            rule: 'no specimen',
            subjects: [subject('implant', implant.serial)],
            facts: { characteristic: item.characteristic, zoneClass: item.zoneClass ?? 'any' },
            says: `No coupon of build ${implant.build} stands for ${implant.serial} in ${item.title}.`,
            clearedBy: 'Process engineer: name the coupon in lot.yaml, with the rationale for which it may stand.',
          }));
        }
        for (const specimen of specimens) {
          const found = present.get(`${specimen} ${item.characteristic}`)?.size ?? 0;
          if (found >= item.replicates) continue;
          note(`${item.characteristic} ${specimen}`, implant.serial, () => ({
            rule: 'result missing',
            subjects: [subject(item.measuredOn, specimen)],
            facts: {
              characteristic: item.characteristic,
              planned: String(item.replicates),
              found: String(found),
            },
            says: `${item.title} of ${specimen}: ${found} of ${item.replicates} planned values are there.`,
            clearedBy: `Analyst: take in the missing values of ${specimen}, measured by ${item.method.method}.`,
          }));
        }
      }
    }
    return {
      findings: [...missing.values()],
      basis: `${planned} planned values over ${implants.length} implants and ${characteristics.length} characteristics`,
    };
  },
};

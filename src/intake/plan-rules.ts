import type { Problem } from '../base/errors.js';
import type { CapabilityPlan } from '../kinds/trend/capability-plan.js';
import { bodyIf, type Known } from './known.js';
import type { ReadDocument } from './yaml-document.js';

/**
 * Capability plans that speak of what their family is not: of another alloy, or of a characteristic that its specification
 * does not know. Nothing could ever be said under such a plan, and nobody would be told why.
 */
export async function planProblems(documents: readonly ReadDocument[], known: Known): Promise<Problem[]> {
  const problems: Problem[] = [];
  for (const document of documents) {
    const plan = bodyIf('capability-plan', document);
    if (plan === undefined || (await known.isRecorded(document))) continue;
    const { file, lineOf } = document;
    const faults = await faultsOf(plan, known);
    problems.push(...faults.map((fault) => ({ code: 'contradiction', file, line: lineOf(fault.field), ...fault })));
  }
  return problems;
}

async function faultsOf({ family, pools, specification: of, characteristic }: CapabilityPlan, known: Known) {
  const made = await known.body('family', family);
  const specification = await known.body('specification', of.specification, of.revision);
  const codes = specification?.characteristics.map((item) => item.characteristic) ?? [];
  const faults = [
    made !== undefined &&
      made.alloy !== pools.alloy && {
        field: 'pools.alloy',
        found: JSON.stringify(pools.alloy),
        expected: `${JSON.stringify(made.alloy)}, of which family ${family} is made`,
        remedy: 'write the alloy as the family names it, or name the family that is made of this one',
      },
    specification !== undefined &&
      specification.family !== family && {
        field: 'specification',
        found: `${of.specification} revision ${of.revision}, of family ${specification.family}`,
        expected: `a specification of family ${family}`,
        remedy: 'name the specification by which lots of this family are judged',
      },
    specification !== undefined &&
      !codes.includes(characteristic) && {
        field: 'characteristic',
        found: JSON.stringify(characteristic),
        expected: `a characteristic of ${of.specification} revision ${of.revision}: ${codes.join(', ')}`,
        remedy: 'correct the code, or name the revision that has it',
      },
  ];
  return faults.filter((fault) => fault !== false);
}

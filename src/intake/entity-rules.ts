import type { Problem } from '../base/errors.js';
import { isSameEntity, lawsOfCase } from '../kinds/laws.js';
import { isNeeded } from '../kinds/route-needs.js';
import { bodyIf, type Known } from './known.js';
import type { ReadDocument } from './yaml-document.js';

/**
 * Handovers of what is made in house to another legal entity than the one that made it. What an authority took away is no
 * handover by the cell, and is told as such.
 * @param lotOf the lot of an implant, as it comes in or as it is stored.
 */
export async function entityProblems(
  documents: readonly ReadDocument[],
  known: Known,
  lotOf: (serial: string) => Promise<
    | {
        readonly family: string;
        readonly implants: readonly { readonly serial: string; readonly case?: string | undefined }[];
      }
    | undefined
  >,
): Promise<Problem[]> {
  const problems: Problem[] = [];
  for (const document of documents) {
    const handover = bodyIf('handover', document);
    if (handover === undefined || handover.unreleased !== undefined) continue;
    for (const [index, serial] of handover.implants.entries()) {
      const lot = await lotOf(serial);
      const code = lot?.implants.find((one) => one.serial === serial)?.case;
      const family = lot && (await known.body('family', lot.family));
      const ofCase = code === undefined ? undefined : await known.body('case', code);
      if (family === undefined || ofCase === undefined) continue;
      if (!isNeeded('one-legal-entity', lawsOfCase(family, ofCase))) continue;
      const maker = family.manufacturer?.name ?? '';
      if (isSameEntity(handover.to.institution, maker)) continue;
      const field = `implants[${index}]`;
      problems.push({
        ...{ code: 'another-legal-entity', file: document.file, line: document.lineOf(field), field },
        found: `${serial}, made in house, to ${handover.to.institution}`,
        expected: maker === '' ? 'the legal entity that made it' : `a handover within ${maker}`,
        remedy: 'keep it in the legal entity that made it, or correct the institution or the law of the case',
      });
    }
  }
  return problems;
}

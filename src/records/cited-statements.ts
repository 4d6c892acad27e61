import { CapabilityStatement } from '../assessment/family/statement.js';
import { isAnsweredBy } from '../assessment/family/study-notes.js';
import type { Facts } from '../dossier/facts.js';
import type { CitedStatement } from '../report/cited-statement.js';
import { firstClosing } from '../store/plans-in-force.js';
import type { Reads } from '../store/repositories.js';
import { readAs } from './changes-since.js';

/** For each characteristic of a lot the last statement that was made and reviewed before the first build of the lot closed. */
export async function citedStatements(
  { capabilityStatements, signatures }: Pick<Reads, 'capabilityStatements' | 'signatures'>,
  { lot, specification }: Pick<Facts, 'lot' | 'specification'>,
): Promise<CitedStatement[]> {
  const closing = firstClosing(lot.body);
  const found: CitedStatement[] = [];
  for (const { characteristic } of specification.body.characteristics) {
    for (const stated of (await capabilityStatements.of(lot.body.family, characteristic)).reverse()) {
      if (Date.parse(stated.recordedAt) > closing) continue;
      const statement = readAs(CapabilityStatement, stated.body);
      if (!statement) continue;
      const { input, study } = statement;
      const review = (await signatures.on([stated.digest]))
        .map(({ signed }) => signed.statement)
        .find((one) => one.meaning === 'reviewed' && Date.parse(one.at) <= closing && isAnsweredBy(study.notes, one));
      if (!review) continue;
      const { says, ppk, ppkLower, confidence, target, more, n, builds, noCpk, silent, percentile } = study.index;
      const { limits } = study.chart;
      found.push({
        ...{
          characteristic,
          number: stated.number,
          digest: stated.digest,
          at: stated.recordedAt,
          window: input.window,
        },
        plan: { plan: input.plan.plan, revision: input.plan.revision },
        index: { says, ppk, ppkLower, confidence, target, more, n, builds, noCpk, silent, percentile },
        limits: limits && { lower: limits.lower, upper: limits.upper },
        review: { by: review.person.code, name: review.person.name, at: review.at },
      });
      break;
    }
  }
  return found;
}

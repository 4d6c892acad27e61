import type { Facts } from '../dossier/facts.js';
import type { Enclosure } from '../records/enclosure.js';
import { courseFaults } from '../records/told-course.js';
import { statementName } from './check-statements.js';
import type { Steps } from './report.js';

/** Whether the record tells all that befell the lot before the last statement on it, as each signer had it before them. */
export function checkCourse(enclosure: Enclosure, facts: Facts | undefined, steps: Steps): void {
  for (const fault of courseFaults(enclosure, facts?.lot.body)) {
    if (fault.code === 'not what the signer had before them') {
      steps.broken('signatures', { code: 'course left out', facts: { statement: statementName(fault.signed) } });
    } else {
      const { told, listed } = fault;
      steps.broken('signatures', { code: 'course told otherwise', facts: { told, listed } });
    }
  }
}

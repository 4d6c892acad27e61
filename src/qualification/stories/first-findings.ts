import { AppError } from '../../base/errors.js';
import type { LotAssessor } from '../../lots/lot-assessor.js';
import type { FindingOf } from './deviations.js';

/** Which values missed their limits, as it was first told: a nonconformity goes on naming what its rework has taken away since. */
export class FirstFindings {
  private readonly known = new Map<string, string>();

  constructor(private readonly assessor: LotAssessor) {}

  /** @param lot of which findings may be asked; none when absent. */
  async of(lot: string | undefined): Promise<FindingOf> {
    const checks = lot === undefined ? [] : (await this.assessor.assess(lot, 'local:demo')).assessment.checks;
    const missed = checks.find(({ code }) => code === 'acceptance')?.findings ?? [];
    for (const { id, units, facts } of missed) {
      for (const unit of units) {
        const name = `${facts.characteristic} of ${unit}`;
        if (!this.known.has(name)) this.known.set(name, id);
      }
    }
    return (characteristic, unit) => {
      const name = `${characteristic} of ${unit}`;
      const found = this.known.get(name);
      if (found === undefined) throw new AppError('UNEXPECTED', `in the demo ${name} misses no limit`);
      return found;
    };
  }
}

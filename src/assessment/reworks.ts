import { type Facts, revisionKey } from '../dossier/facts.js';
import type { ResultRow } from '../dossier/tables.js';
import type { Coupon, Implant } from '../kinds/lot.js';
import type { LotStep } from '../kinds/lot-after-build.js';
import type { ReworkInstruction } from '../kinds/rework-instruction.js';
import type { ValueReason } from './reasons.js';

/** A step after the build that was done again by an instruction. */
export interface Rework {
  readonly step: LotStep;
  /** Code and revision of the instruction. */
  readonly by: string;
  /** Undefined where the lot file does not hold it: it then disturbs nothing that is known. */
  readonly instruction: ReworkInstruction | undefined;
}

/** Steps by rework instructions, in the order in which they were done. */
export const reworksOf = ({ lot, reworkInstructions }: Pick<Facts, 'lot' | 'reworkInstructions'>): Rework[] =>
  lot.body.steps
    .flatMap((step): Rework[] => {
      if (step.instruction === undefined) return [];
      const by = revisionKey(step.instruction.instruction, step.instruction.revision);
      return [{ step, by, instruction: reworkInstructions.get(by)?.body }];
    })
    .sort((a, b) => Date.parse(a.step.at) - Date.parse(b.step.at));

/** Whether a part of the lot went through a step: one without parts was done on the whole lot. */
export const wentThrough = ({ parts }: Pick<LotStep, 'parts'>, part: string): boolean =>
  parts === undefined || parts.includes(part);

/**
 * Which reworks parts went through, as far as these disturb a characteristic (docs/trade.md 4.8). A value tells of an implant
 * only when its specimen had, as it was measured, gone through the same ones as the implant has by now.
 */
export class ReworkHistory {
  private readonly reworks: readonly Rework[];

  constructor(facts: Pick<Facts, 'lot' | 'reworkInstructions'>) {
    this.reworks = reworksOf(facts);
  }

  /** Those of a part, until a moment where one is given. */
  of(part: string, characteristic: string, until?: string): Rework[] {
    return this.reworks.filter(
      ({ step, instruction }) =>
        wentThrough(step, part) &&
        instruction?.disturbs.includes(characteristic) === true &&
        (until === undefined || Date.parse(step.at) <= Date.parse(until)),
    );
  }

  /** Whether a coupon went through what an implant went through by way of rework: only then it speaks for it. */
  isShared(coupon: Coupon, implant: Implant, characteristic: string): boolean {
    return isSame(this.of(coupon.coupon, characteristic), this.of(implant.serial, characteristic));
  }

  /** A spare coupon that went through a rework together with an implant speaks for it from then on. */
  isReworkedWith(coupon: Coupon, implant: Implant, characteristic: string): boolean {
    return this.of(implant.serial, characteristic).length > 0 && this.isShared(coupon, implant, characteristic);
  }

  /** Why a value tells nothing of a part that went through these reworks; undefined where it does. */
  setAside(result: ResultRow, wanted: readonly Rework[]): ValueReason | undefined {
    const gone = this.of(result.specimen, result.characteristic, result.measuredAt);
    const since = wanted.find((rework) => !gone.includes(rework));
    if (since) return { code: 'before rework', facts: { instruction: since.by, at: since.step.at } };
    const other = gone.find((rework) => !wanted.includes(rework));
    return other && { code: 'after rework', facts: { instruction: other.by, at: other.step.at } };
  }
}

const isSame = (some: readonly Rework[], others: readonly Rework[]): boolean =>
  some.length === others.length && some.every((rework) => others.includes(rework));

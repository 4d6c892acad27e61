import { type Carried, type Json, moment, type Row } from './carried.js';

/** Steps of the lot that were done again by an instruction, with that instruction where it is there. */
export const reworkSteps = (carried: Carried): { readonly step: Json; readonly document: Json | undefined }[] =>
  ((carried.lot.steps ?? []) as Json[])
    .filter(({ instruction }) => instruction !== undefined)
    .map((step) => ({
      step,
      document: carried.pinned('rework-instruction', step.instruction.instruction, step.instruction.revision),
    }));

export const isPartOf = ({ parts }: Json, code: string): boolean => parts === undefined || parts.includes(code);

/** Reworks of a part in a characteristic, until a moment where one is given: a text that tells them from others. */
export function reworksOf(carried: Carried, part: string, characteristic: string, until?: string): string {
  return reworkSteps(carried)
    .flatMap(({ step, document }, index) =>
      isPartOf(step, part) &&
      document?.body.disturbs.includes(characteristic) &&
      (until === undefined || moment(step.at) <= moment(until))
        ? [index]
        : [],
    )
    .join();
}

/** Whether a row tells of what went through these reworks. */
export const isOfReworks = (carried: Carried, row: Row, wanted: string): boolean =>
  reworksOf(carried, row.specimen!, row.characteristic!, row.measuredAt!) === wanted;

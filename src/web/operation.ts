import { Reflector } from '@nestjs/core';
import type { z } from 'zod';

/** What the programming interface says of a route beside what its other decorators say already. */
export interface Operation {
  readonly summary: string;
  /** Schema of the answer. */
  readonly answer: z.ZodType | 'a file' | 'nothing';
  /** Where the body depends on a part of the path: one operation for each value of that part. */
  readonly each?: () => readonly OperationOfOne[];
}

/** What is asked and answered when the part of the path has this value. Schemas are JSON Schemas. */
export interface OperationOfOne {
  readonly value: string;
  readonly summary: string;
  readonly description: string;
  readonly body: object;
  /** A body that the service answers. */
  readonly example: unknown;
  readonly answer: object;
  /** Whether the page on the API shows it as its example. */
  readonly shown: boolean;
}

/** Stands at every handler of the API. */
export const Operation = Reflector.createDecorator<Operation>();

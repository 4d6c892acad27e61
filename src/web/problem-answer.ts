import { z } from 'zod';
import { HTTP_STATUS } from './http-problem.js';

export const ProblemAnswer = z
  .looseObject({
    type: z.string().describe('reference to what the code means'),
    title: z.string(),
    status: z.int(),
    detail: z.string(),
    instance: z.string().describe('path of the request'),
    code: z.enum(Object.keys(HTTP_STATUS) as [string, ...string[]]),
  })
  .describe('Problem details of RFC 9457; further members carry the facts, such as `problems`, `field` or `key`.');

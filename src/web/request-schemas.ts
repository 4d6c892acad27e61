import { z } from 'zod';

/** What requests may carry. Unknown fields are refused. */

const identifier = (what: string) => z.string().trim().min(1, what).max(200, `${what} of at most 200 characters`);

export const TraceQuery = z.strictObject({
  direction: z.enum(['back', 'forward']).optional().describe('only what it came from, or only what came from it'),
});
export type TraceQuery = z.infer<typeof TraceQuery>;

export const TrendQuery = z.strictObject({
  family: identifier('a family').describe('code of the family'),
  characteristic: identifier('a characteristic').describe('short name of the characteristic'),
});
export type TrendQuery = z.infer<typeof TrendQuery>;

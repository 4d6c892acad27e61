import { z } from 'zod';
import type { DeclaredKind } from './kind.js';

/** What a scan found in the log of a storage place, with the stretch of time in which it was so. */
export const PlaceFinding = z.strictObject({
  rule: z.string(),
  level: z.enum(['alert', 'action', 'reject']),
  channel: z.string().nullable(),
  ucum: z.string().nullable(),
  startedAt: z.string(),
  endedAt: z.string(),
  direction: z.enum(['high', 'low']).optional(),
  worst: z.number().optional(),
  limit: z.number().optional(),
});
export type PlaceFinding = z.infer<typeof PlaceFinding>;

/** One log of a storage place as scanned by the windows of the place. */
export const PlaceLog = z.strictObject({
  place: z.string(),
  evidence: z.string().describe('SHA-256 of the file as received'),
  planSha256: z.string().describe('of the plan by which it was scanned'),
  scanner: z.string(),
  rows: z.int().nonnegative(),
  rejectedRows: z.int().nonnegative(),
  firstAt: z.string(),
  lastAt: z.string(),
  findings: z.array(PlaceFinding),
});
export type PlaceLog = z.infer<typeof PlaceLog>;

export const placeLog: DeclaredKind<PlaceLog> = { kind: 'place-log', schema: PlaceLog };

import { z } from 'zod';
import { timeText } from '../dossier/time-text.js';
import { Sha256 } from '../web/fields.js';

/** An answer to what an auditor asks, with the head of the audit trail that it was answered from. */
export const AuditorAnswer = z.strictObject({
  question: z.string(),
  title: z.string(),
  clause: z.string(),
  columns: z.array(z.string()),
  rows: z.array(z.array(z.string())),
  from: z.string().nullable(),
  to: z.string().nullable(),
  about: z.string().nullable(),
  head: z.strictObject({ size: z.int().nonnegative(), root: Sha256 }),
});
export type AuditorAnswer = z.infer<typeof AuditorAnswer>;

/** A moment as people read it; a file for programs has it as it was recorded. */
export const cellText = (cell: string): string => (MOMENT.test(cell) ? timeText(cell) : cell);
const MOMENT = /^\d{4}-\d\d-\d\dT[\d:.]+(?:Z|[+-]\d\d:\d\d)$/;

/** Of a SHA-256 as much as tells it from others; whatever else as it is. */
export const shortDigest = (cell: string): string => (/^[0-9a-f]{64}$/.test(cell) ? `${cell.slice(0, 12)}…` : cell);

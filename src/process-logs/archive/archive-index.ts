import { z } from 'zod';

const Whole = z.int().nonnegative();

/** A piece of the text of a log: where it lies, and what it holds. */
export const ArchiveMember = z.strictObject({
  offset: Whole.describe('first byte in the log, or in the archive where its members are packed'),
  bytes: Whole.describe('length there'),
  sha256: z.string().describe('of its bytes as they lie there'),
  line: Whole.describe('number of its first line in the log, from 1'),
  fromUs: z
    .number()
    .nullable()
    .describe('no row of it is earlier; microseconds since 1970 on the clock of the recorder'),
  toUs: z.number().nullable().describe('no row of it is later; null while no row was read'),
});
export type ArchiveMember = z.infer<typeof ArchiveMember>;

/** What the raw rows of an archive are. */
export const RawForm = z.enum(['csv', 'mtconnect', 'lines']);
export type RawForm = z.infer<typeof RawForm>;

/** Leads to any time in the text of a log. It is written last: an archive without it was never finished. */
export const ArchiveIndex = z.strictObject({
  format: z.literal(3),
  form: RawForm,
  isPacked: z.boolean().describe('the members lie in an archive of their own, as gzip; else in the log itself'),
  bytes: Whole.describe('length of all members'),
  members: z.array(ArchiveMember),
});
export type ArchiveIndex = z.infer<typeof ArchiveIndex>;

/** Members that may hold rows from one time on and before another, in order. */
export function membersBetween(members: readonly ArchiveMember[], fromUs: number, toUs: number): ArchiveMember[] {
  return members.filter(
    (member) => member.toUs !== null && member.toUs >= fromUs && (member.fromUs === null || member.fromUs < toUs),
  );
}

import { z } from 'zod';
import { AppError, type ErrorCode } from './errors.js';

/** What the system or the database says when the disk is at fault, and what that means for whoever reads it. */
const MEANINGS: readonly { readonly codes: RegExp; readonly code: ErrorCode; readonly says: string }[] = [
  {
    codes: /^(?:ENOSPC|EDQUOT|EFBIG|SQLITE_FULL)$/,
    code: 'STORAGE',
    says: 'the disk is full: what was being stored was not stored; make room and do it again',
  },
  {
    codes: /^(?:EROFS|EACCES|EPERM|SQLITE_READONLY.*|SQLITE_CANTOPEN.*)$/,
    code: 'STORAGE',
    says: 'the system does not let the program read or write there: is the disk read-only, or the folder of another user?',
  },
  {
    codes: /^(?:EIO|SQLITE_IOERR(?!_SHORT_READ).*)$/,
    code: 'STORAGE',
    says: 'the disk is full or reports errors: make room; if there is room, copy what is there to another disk first of all',
  },
  {
    codes: /^(?:SQLITE_CORRUPT.*|SQLITE_NOTADB|SQLITE_IOERR_SHORT_READ)$/,
    code: 'ALTERED',
    says: 'the file of the database is damaged: keep it for whoever looks into it, and restore a backup',
  },
];

const Coded = z.object({ code: z.string() });
const FromDriver = z.object({ cause: z.object({ originalCode: z.string() }) });
const FromPrisma = z.object({ meta: z.object({ driverAdapterError: FromDriver }) });

/** The same error, or one that says in words that the disk is at fault. */
export function explained(error: unknown): unknown {
  if (error instanceof AppError) return error;
  const code = codeOf(error);
  const meaning = MEANINGS.find(({ codes }) => code !== undefined && codes.test(code));
  if (!meaning) return error;
  return new AppError(meaning.code, `${meaning.says} (${(error as Error).message.trim().split('\n').at(-1)})`, {
    code,
  });
}

/** Prisma has codes of its own, and wraps the driver's in one of two ways. */
function codeOf(error: unknown): string | undefined {
  const driver = FromPrisma.safeParse(error).data?.meta.driverAdapterError ?? FromDriver.safeParse(error).data;
  return driver?.cause.originalCode ?? Coded.safeParse(error).data?.code;
}

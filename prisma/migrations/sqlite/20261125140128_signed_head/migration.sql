-- AlterTable
ALTER TABLE "LedgerLock" ADD COLUMN "head" TEXT;

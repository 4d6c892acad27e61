-- CreateTable
CREATE TABLE "Lease" (
    "name" TEXT NOT NULL PRIMARY KEY,
    "holder" TEXT NOT NULL,
    "instance" TEXT NOT NULL,
    "endsAt" TEXT NOT NULL
);

-- CreateTable
CREATE TABLE "Rate" (
    "window" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "instance" TEXT NOT NULL,
    "count" INTEGER NOT NULL,

    PRIMARY KEY ("window", "name", "instance")
);

-- CreateTable
CREATE TABLE "Generation" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "number" INTEGER NOT NULL,
    "version" TEXT NOT NULL
);

-- RedefineTables
PRAGMA defer_foreign_keys=ON;
PRAGMA foreign_keys=OFF;
CREATE TABLE "new_ScanJob" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "lot" TEXT NOT NULL,
    "build" TEXT NOT NULL,
    "fileName" TEXT NOT NULL,
    "evidence" TEXT NOT NULL,
    "state" TEXT NOT NULL,
    "owner" TEXT NOT NULL,
    "doneBytes" INTEGER NOT NULL,
    "totalBytes" INTEGER NOT NULL,
    "startedAt" TEXT NOT NULL,
    "endedAt" TEXT,
    "error" TEXT
);
INSERT INTO "new_ScanJob" ("build", "doneBytes", "endedAt", "error", "evidence", "fileName", "id", "lot", "owner", "startedAt", "state", "totalBytes") SELECT "build", "doneBytes", "endedAt", "error", "evidence", "fileName", "id", "lot", "owner", "startedAt", "state", "totalBytes" FROM "ScanJob";
DROP TABLE "ScanJob";
ALTER TABLE "new_ScanJob" RENAME TO "ScanJob";
CREATE INDEX "ScanJob_state_idx" ON "ScanJob"("state");
CREATE INDEX "ScanJob_lot_build_idx" ON "ScanJob"("lot", "build");
PRAGMA foreign_keys=ON;
PRAGMA defer_foreign_keys=OFF;

-- CreateIndex
CREATE INDEX "Lease_instance_idx" ON "Lease"("instance");

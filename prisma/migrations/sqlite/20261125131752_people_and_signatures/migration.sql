-- CreateTable
CREATE TABLE "Signature" (
    "digest" TEXT NOT NULL PRIMARY KEY,
    "meaning" TEXT NOT NULL,
    "subjectKind" TEXT NOT NULL,
    "subjectKey" TEXT NOT NULL,
    "subjectDigest" TEXT NOT NULL,
    "person" TEXT NOT NULL,
    "statement" TEXT NOT NULL,
    "signature" TEXT NOT NULL,
    "recordedAt" TEXT NOT NULL,
    "ledgerSeq" INTEGER NOT NULL
);

-- CreateTable
CREATE TABLE "Event" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "type" TEXT NOT NULL,
    "subjectKind" TEXT NOT NULL,
    "subjectKey" TEXT NOT NULL,
    "body" TEXT NOT NULL,
    "digest" TEXT NOT NULL,
    "recordedAt" TEXT NOT NULL,
    "recordedOffset" TEXT NOT NULL,
    "actor" TEXT NOT NULL,
    "reason" TEXT,
    "ledgerSeq" INTEGER NOT NULL
);

-- CreateTable
CREATE TABLE "Session" (
    "tokenSha256" TEXT NOT NULL PRIMARY KEY,
    "person" TEXT NOT NULL,
    "csrf" TEXT NOT NULL,
    "startedAt" TEXT NOT NULL,
    "seenAt" TEXT NOT NULL,
    "endsAt" TEXT NOT NULL
);

-- CreateTable
CREATE TABLE "Lockout" (
    "person" TEXT NOT NULL PRIMARY KEY,
    "failures" INTEGER NOT NULL,
    "failuresEver" INTEGER NOT NULL,
    "lastFailureAt" TEXT NOT NULL,
    "lockedUntil" TEXT
);

-- CreateTable
CREATE TABLE "ScanJob" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "lot" TEXT NOT NULL,
    "build" TEXT NOT NULL,
    "fileName" TEXT NOT NULL,
    "evidence" TEXT NOT NULL,
    "state" TEXT NOT NULL,
    "owner" TEXT NOT NULL,
    "leaseUntil" TEXT NOT NULL,
    "doneBytes" INTEGER NOT NULL,
    "totalBytes" INTEGER NOT NULL,
    "startedAt" TEXT NOT NULL,
    "endedAt" TEXT,
    "error" TEXT
);

-- CreateIndex
CREATE INDEX "Signature_subjectDigest_idx" ON "Signature"("subjectDigest");

-- CreateIndex
CREATE INDEX "Signature_subjectKind_subjectKey_idx" ON "Signature"("subjectKind", "subjectKey");

-- CreateIndex
CREATE INDEX "Signature_person_idx" ON "Signature"("person");

-- CreateIndex
CREATE INDEX "Event_type_idx" ON "Event"("type");

-- CreateIndex
CREATE INDEX "Event_subjectKind_subjectKey_idx" ON "Event"("subjectKind", "subjectKey");

-- CreateIndex
CREATE INDEX "Session_person_idx" ON "Session"("person");

-- CreateIndex
CREATE INDEX "ScanJob_state_idx" ON "ScanJob"("state");

-- CreateIndex
CREATE INDEX "ScanJob_lot_build_idx" ON "ScanJob"("lot", "build");

-- CreateTable
CREATE TABLE "SignatureSubject" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "signature" TEXT NOT NULL,
    "kind" TEXT NOT NULL,
    "key" TEXT NOT NULL,
    "digest" TEXT NOT NULL,
    CONSTRAINT "SignatureSubject_signature_fkey" FOREIGN KEY ("signature") REFERENCES "Signature" ("digest") ON DELETE RESTRICT ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "SentForm" (
    "session" TEXT NOT NULL,
    "number" TEXT NOT NULL,
    "sentAt" TEXT NOT NULL,
    "result" TEXT,

    PRIMARY KEY ("session", "number")
);

-- RedefineTables
PRAGMA defer_foreign_keys=ON;
PRAGMA foreign_keys=OFF;
CREATE TABLE "new_Signature" (
    "digest" TEXT NOT NULL PRIMARY KEY,
    "meaning" TEXT NOT NULL,
    "person" TEXT NOT NULL,
    "statement" TEXT NOT NULL,
    "signature" TEXT NOT NULL,
    "recordedAt" TEXT NOT NULL,
    "ledgerSeq" INTEGER NOT NULL
);
INSERT INTO "new_Signature" ("digest", "ledgerSeq", "meaning", "person", "recordedAt", "signature", "statement") SELECT "digest", "ledgerSeq", "meaning", "person", "recordedAt", "signature", "statement" FROM "Signature";
DROP TABLE "Signature";
ALTER TABLE "new_Signature" RENAME TO "Signature";
CREATE INDEX "Signature_person_idx" ON "Signature"("person");
PRAGMA foreign_keys=ON;
PRAGMA defer_foreign_keys=OFF;

-- CreateIndex
CREATE INDEX "SignatureSubject_signature_idx" ON "SignatureSubject"("signature");

-- CreateIndex
CREATE INDEX "SignatureSubject_digest_idx" ON "SignatureSubject"("digest");

-- CreateIndex
CREATE INDEX "SignatureSubject_kind_key_idx" ON "SignatureSubject"("kind", "key");

-- CreateIndex
CREATE INDEX "SignatureSubject_key_idx" ON "SignatureSubject"("key");

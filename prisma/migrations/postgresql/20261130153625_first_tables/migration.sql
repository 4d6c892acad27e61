-- CreateTable
CREATE TABLE "Entry" (
    "id" BIGSERIAL NOT NULL,
    "kind" TEXT NOT NULL,
    "key" TEXT NOT NULL,
    "recordedAt" TEXT NOT NULL,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "Entry_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Revision" (
    "id" BIGSERIAL NOT NULL,
    "entryId" BIGINT NOT NULL,
    "number" BIGINT NOT NULL,
    "name" TEXT NOT NULL,
    "body" TEXT NOT NULL,
    "digest" TEXT NOT NULL,
    "recordedAt" TEXT NOT NULL,
    "recordedOffset" TEXT NOT NULL,
    "actor" TEXT NOT NULL,
    "reason" TEXT,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "Revision_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Link" (
    "id" BIGSERIAL NOT NULL,
    "fromRevisionId" BIGINT NOT NULL,
    "name" TEXT NOT NULL,
    "toEntryId" BIGINT,
    "toRevision" BIGINT,
    "toEvidence" TEXT,
    "massG" TEXT,
    "count" BIGINT,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "Link_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Evidence" (
    "sha256" TEXT NOT NULL,
    "bytes" BIGINT NOT NULL,
    "fileName" TEXT NOT NULL,
    "recordedAt" TEXT NOT NULL,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "Evidence_pkey" PRIMARY KEY ("sha256")
);

-- CreateTable
CREATE TABLE "Result" (
    "id" BIGSERIAL NOT NULL,
    "lot" TEXT NOT NULL,
    "specimen" TEXT NOT NULL,
    "piece" TEXT NOT NULL,
    "characteristic" TEXT NOT NULL,
    "replicate" BIGINT NOT NULL,
    "value" TEXT NOT NULL,
    "ucum" TEXT NOT NULL,
    "reportedValue" TEXT NOT NULL,
    "reportedUcum" TEXT NOT NULL,
    "standardUncertainty" TEXT NOT NULL,
    "startedAt" TEXT NOT NULL,
    "measuredAt" TEXT NOT NULL,
    "recordedAt" TEXT NOT NULL,
    "instrument" TEXT NOT NULL,
    "analyst" TEXT NOT NULL,
    "method" TEXT NOT NULL,
    "methodRevision" BIGINT NOT NULL,
    "enteredBy" TEXT NOT NULL,
    "checkedBy" TEXT NOT NULL,
    "file" TEXT NOT NULL,
    "evidence" TEXT NOT NULL,
    "line" BIGINT NOT NULL,
    "reason" TEXT NOT NULL,
    "replacesId" BIGINT,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "Result_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "LogFile" (
    "id" BIGSERIAL NOT NULL,
    "lot" TEXT NOT NULL,
    "build" TEXT NOT NULL,
    "fileName" TEXT NOT NULL,
    "evidence" TEXT NOT NULL,
    "planSha256" TEXT NOT NULL,
    "scanner" TEXT NOT NULL,
    "facts" TEXT NOT NULL,
    "part" TEXT NOT NULL,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "LogFile_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "LogSummary" (
    "id" BIGSERIAL NOT NULL,
    "logFileId" BIGINT NOT NULL,
    "layer" BIGINT,
    "zone" TEXT NOT NULL,
    "step" TEXT NOT NULL,
    "channel" TEXT NOT NULL,
    "ucum" TEXT NOT NULL,
    "n" BIGINT NOT NULL,
    "min" DOUBLE PRECISION,
    "max" DOUBLE PRECISION,
    "mean" DOUBLE PRECISION,
    "timeWeightedMean" DOUBLE PRECISION,
    "sd" DOUBLE PRECISION,
    "observedMs" DOUBLE PRECISION NOT NULL,
    "outsideMs" DOUBLE PRECISION NOT NULL,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "LogSummary_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Finding" (
    "id" BIGSERIAL NOT NULL,
    "logFileId" BIGINT NOT NULL,
    "identity" TEXT NOT NULL,
    "build" TEXT NOT NULL,
    "rule" TEXT NOT NULL,
    "level" TEXT NOT NULL,
    "channel" TEXT,
    "ledgerSeq" BIGINT NOT NULL,
    "body" TEXT NOT NULL,

    CONSTRAINT "Finding_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Dossier" (
    "digest" TEXT NOT NULL,
    "lot" TEXT NOT NULL,
    "body" TEXT NOT NULL,
    "recordedAt" TEXT NOT NULL,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "Dossier_pkey" PRIMARY KEY ("digest")
);

-- CreateTable
CREATE TABLE "Part" (
    "sha256" TEXT NOT NULL,
    "ledgerSeq" BIGINT NOT NULL,
    "mediaType" TEXT NOT NULL,
    "body" TEXT NOT NULL,

    CONSTRAINT "Part_pkey" PRIMARY KEY ("sha256")
);

-- CreateTable
CREATE TABLE "Assessment" (
    "digest" TEXT NOT NULL,
    "dossierDigest" TEXT NOT NULL,
    "lot" TEXT NOT NULL,
    "program" TEXT NOT NULL,
    "version" TEXT NOT NULL,
    "body" TEXT NOT NULL,
    "recordedAt" TEXT NOT NULL,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "Assessment_pkey" PRIMARY KEY ("digest")
);

-- CreateTable
CREATE TABLE "LotSummary" (
    "id" BIGSERIAL NOT NULL,
    "family" TEXT NOT NULL,
    "characteristic" TEXT NOT NULL,
    "position" BIGINT NOT NULL,
    "lot" TEXT NOT NULL,
    "build" TEXT NOT NULL,
    "builtAt" TEXT NOT NULL,
    "closedAt" TEXT NOT NULL,
    "context" TEXT NOT NULL,
    "n" BIGINT NOT NULL,
    "mean" DOUBLE PRECISION,
    "sumSquaredDeviations" DOUBLE PRECISION,
    "min" DOUBLE PRECISION,
    "max" DOUBLE PRECISION,
    "censored" BIGINT NOT NULL,
    "values" TEXT NOT NULL,
    "takenOut" TEXT NOT NULL,
    "takenOutCount" BIGINT NOT NULL,
    "beside" TEXT NOT NULL,
    "dossierDigest" TEXT NOT NULL,
    "replaces" BIGINT,
    "previous" TEXT NOT NULL,
    "digest" TEXT NOT NULL,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "LotSummary_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "HistorySum" (
    "family" TEXT NOT NULL,
    "characteristic" TEXT NOT NULL,
    "level" BIGINT NOT NULL,
    "period" TEXT NOT NULL,
    "firstClosedAt" TEXT NOT NULL,
    "lastClosedAt" TEXT NOT NULL,
    "firstDay" TEXT NOT NULL,
    "lastDay" TEXT NOT NULL,
    "lots" TEXT NOT NULL,
    "sums" TEXT NOT NULL,

    CONSTRAINT "HistorySum_pkey" PRIMARY KEY ("family","characteristic","level","period")
);

-- CreateTable
CREATE TABLE "Record" (
    "id" BIGSERIAL NOT NULL,
    "number" TEXT NOT NULL,
    "revision" BIGINT NOT NULL,
    "lot" TEXT NOT NULL,
    "dossierDigest" TEXT NOT NULL,
    "enclosureDigest" TEXT NOT NULL,
    "enclosure" TEXT NOT NULL,
    "fileSha256" TEXT NOT NULL,
    "recordedAt" TEXT NOT NULL,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "Record_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "CapabilityStatement" (
    "id" BIGSERIAL NOT NULL,
    "family" TEXT NOT NULL,
    "characteristic" TEXT NOT NULL,
    "number" BIGINT NOT NULL,
    "plan" TEXT NOT NULL,
    "planRevision" BIGINT NOT NULL,
    "digest" TEXT NOT NULL,
    "body" TEXT NOT NULL,
    "recordedAt" TEXT NOT NULL,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "CapabilityStatement_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Signature" (
    "digest" TEXT NOT NULL,
    "meaning" TEXT NOT NULL,
    "person" TEXT NOT NULL,
    "statement" TEXT NOT NULL,
    "personSignature" TEXT NOT NULL,
    "signature" TEXT NOT NULL,
    "recordedAt" TEXT NOT NULL,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "Signature_pkey" PRIMARY KEY ("digest")
);

-- CreateTable
CREATE TABLE "SignatureSubject" (
    "id" BIGSERIAL NOT NULL,
    "signature" TEXT NOT NULL,
    "kind" TEXT NOT NULL,
    "key" TEXT NOT NULL,
    "digest" TEXT NOT NULL,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "SignatureSubject_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Event" (
    "id" BIGSERIAL NOT NULL,
    "type" TEXT NOT NULL,
    "subjectKind" TEXT NOT NULL,
    "subjectKey" TEXT NOT NULL,
    "body" TEXT NOT NULL,
    "recordedAt" TEXT NOT NULL,
    "recordedOffset" TEXT NOT NULL,
    "actor" TEXT NOT NULL,
    "reason" TEXT,
    "ledgerSeq" BIGINT NOT NULL,

    CONSTRAINT "Event_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Session" (
    "tokenSha256" TEXT NOT NULL,
    "person" TEXT NOT NULL,
    "csrf" TEXT NOT NULL,
    "startedAt" TEXT NOT NULL,
    "seenAt" TEXT NOT NULL,
    "endsAt" TEXT NOT NULL,
    "code" TEXT NOT NULL,

    CONSTRAINT "Session_pkey" PRIMARY KEY ("tokenSha256")
);

-- CreateTable
CREATE TABLE "Lockout" (
    "person" TEXT NOT NULL,
    "origin" TEXT NOT NULL,
    "failures" BIGINT NOT NULL,
    "failuresEver" BIGINT NOT NULL,
    "lastFailureAt" TEXT NOT NULL,
    "lockedUntil" TEXT,
    "provedAt" TEXT,

    CONSTRAINT "Lockout_pkey" PRIMARY KEY ("person","origin")
);

-- CreateTable
CREATE TABLE "SentForm" (
    "session" TEXT NOT NULL,
    "number" TEXT NOT NULL,
    "sentAt" TEXT NOT NULL,
    "result" TEXT,

    CONSTRAINT "SentForm_pkey" PRIMARY KEY ("session","number")
);

-- CreateTable
CREATE TABLE "Draft" (
    "name" TEXT NOT NULL,
    "person" TEXT NOT NULL,
    "kind" TEXT NOT NULL,
    "fields" TEXT NOT NULL,
    "changedAt" TEXT NOT NULL,

    CONSTRAINT "Draft_pkey" PRIMARY KEY ("name")
);

-- CreateTable
CREATE TABLE "DraftFile" (
    "draft" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "bytes" BYTEA NOT NULL,

    CONSTRAINT "DraftFile_pkey" PRIMARY KEY ("draft","name")
);

-- CreateTable
CREATE TABLE "ScanJob" (
    "id" BIGSERIAL NOT NULL,
    "lot" TEXT NOT NULL,
    "build" TEXT NOT NULL,
    "fileName" TEXT NOT NULL,
    "evidence" TEXT NOT NULL,
    "state" TEXT NOT NULL,
    "owner" TEXT NOT NULL,
    "leaseUntil" TEXT NOT NULL,
    "doneBytes" BIGINT NOT NULL,
    "totalBytes" BIGINT NOT NULL,
    "startedAt" TEXT NOT NULL,
    "endedAt" TEXT,
    "error" TEXT,

    CONSTRAINT "ScanJob_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "LedgerEntry" (
    "seq" BIGINT NOT NULL,
    "body" TEXT NOT NULL,
    "leaf" TEXT NOT NULL,

    CONSTRAINT "LedgerEntry_pkey" PRIMARY KEY ("seq")
);

-- CreateTable
CREATE TABLE "LedgerNode" (
    "level" BIGINT NOT NULL,
    "index" BIGINT NOT NULL,
    "hash" TEXT NOT NULL,

    CONSTRAINT "LedgerNode_pkey" PRIMARY KEY ("level","index")
);

-- CreateTable
CREATE TABLE "LedgerLock" (
    "id" BIGINT NOT NULL,
    "size" BIGINT NOT NULL,
    "head" TEXT,
    "keptTo" BIGINT NOT NULL DEFAULT 0,

    CONSTRAINT "LedgerLock_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "KeptView" (
    "view" TEXT NOT NULL,
    "lot" TEXT NOT NULL,
    "version" TEXT NOT NULL,
    "madeAt" BIGINT NOT NULL,
    "touchedAt" BIGINT NOT NULL,
    "closed" BOOLEAN NOT NULL,
    "asks" BOOLEAN NOT NULL,
    "awaiting" BOOLEAN NOT NULL,
    "neededBy" TEXT NOT NULL,
    "body" TEXT NOT NULL,

    CONSTRAINT "KeptView_pkey" PRIMARY KEY ("view","lot")
);

-- CreateTable
CREATE TABLE "KeptTopic" (
    "topic" BIGINT NOT NULL,
    "view" TEXT NOT NULL,
    "lot" TEXT NOT NULL,

    CONSTRAINT "KeptTopic_pkey" PRIMARY KEY ("topic","view","lot")
);

-- CreateIndex
CREATE UNIQUE INDEX "Entry_kind_key_key" ON "Entry"("kind", "key");

-- CreateIndex
CREATE INDEX "Revision_digest_idx" ON "Revision"("digest");

-- CreateIndex
CREATE INDEX "Revision_actor_idx" ON "Revision"("actor");

-- CreateIndex
CREATE UNIQUE INDEX "Revision_entryId_number_key" ON "Revision"("entryId", "number");

-- CreateIndex
CREATE INDEX "Link_fromRevisionId_idx" ON "Link"("fromRevisionId");

-- CreateIndex
CREATE INDEX "Link_toEntryId_name_idx" ON "Link"("toEntryId", "name");

-- CreateIndex
CREATE INDEX "Link_toEvidence_idx" ON "Link"("toEvidence");

-- CreateIndex
CREATE UNIQUE INDEX "Result_replacesId_key" ON "Result"("replacesId");

-- CreateIndex
CREATE INDEX "Result_lot_characteristic_idx" ON "Result"("lot", "characteristic");

-- CreateIndex
CREATE INDEX "Result_instrument_idx" ON "Result"("instrument");

-- CreateIndex
CREATE INDEX "Result_analyst_idx" ON "Result"("analyst");

-- CreateIndex
CREATE UNIQUE INDEX "LogFile_build_evidence_planSha256_key" ON "LogFile"("build", "evidence", "planSha256");

-- CreateIndex
CREATE INDEX "LogSummary_logFileId_idx" ON "LogSummary"("logFileId");

-- CreateIndex
CREATE INDEX "Finding_identity_idx" ON "Finding"("identity");

-- CreateIndex
CREATE INDEX "Finding_build_idx" ON "Finding"("build");

-- CreateIndex
CREATE UNIQUE INDEX "Finding_logFileId_identity_key" ON "Finding"("logFileId", "identity");

-- CreateIndex
CREATE INDEX "Dossier_lot_ledgerSeq_idx" ON "Dossier"("lot", "ledgerSeq");

-- CreateIndex
CREATE INDEX "Assessment_lot_ledgerSeq_version_idx" ON "Assessment"("lot", "ledgerSeq", "version");

-- CreateIndex
CREATE INDEX "LotSummary_family_characteristic_closedAt_idx" ON "LotSummary"("family", "characteristic", "closedAt");

-- CreateIndex
CREATE INDEX "LotSummary_family_characteristic_context_closedAt_idx" ON "LotSummary"("family", "characteristic", "context", "closedAt");

-- CreateIndex
CREATE INDEX "LotSummary_family_replaces_characteristic_idx" ON "LotSummary"("family", "replaces", "characteristic");

-- CreateIndex
CREATE INDEX "LotSummary_family_characteristic_ledgerSeq_position_idx" ON "LotSummary"("family", "characteristic", "ledgerSeq", "position");

-- CreateIndex
CREATE INDEX "LotSummary_family_characteristic_takenOutCount_closedAt_idx" ON "LotSummary"("family", "characteristic", "takenOutCount", "closedAt");

-- CreateIndex
CREATE INDEX "LotSummary_lot_family_characteristic_idx" ON "LotSummary"("lot", "family", "characteristic");

-- CreateIndex
CREATE UNIQUE INDEX "LotSummary_family_characteristic_position_key" ON "LotSummary"("family", "characteristic", "position");

-- CreateIndex
CREATE INDEX "Record_lot_idx" ON "Record"("lot");

-- CreateIndex
CREATE UNIQUE INDEX "Record_number_revision_key" ON "Record"("number", "revision");

-- CreateIndex
CREATE UNIQUE INDEX "CapabilityStatement_family_characteristic_number_key" ON "CapabilityStatement"("family", "characteristic", "number");

-- CreateIndex
CREATE INDEX "Signature_person_idx" ON "Signature"("person");

-- CreateIndex
CREATE INDEX "SignatureSubject_signature_idx" ON "SignatureSubject"("signature");

-- CreateIndex
CREATE INDEX "SignatureSubject_digest_idx" ON "SignatureSubject"("digest");

-- CreateIndex
CREATE INDEX "SignatureSubject_kind_key_idx" ON "SignatureSubject"("kind", "key");

-- CreateIndex
CREATE INDEX "SignatureSubject_key_idx" ON "SignatureSubject"("key");

-- CreateIndex
CREATE INDEX "Event_type_idx" ON "Event"("type");

-- CreateIndex
CREATE INDEX "Event_subjectKind_subjectKey_idx" ON "Event"("subjectKind", "subjectKey");

-- CreateIndex
CREATE INDEX "Session_person_idx" ON "Session"("person");

-- CreateIndex
CREATE INDEX "Lockout_lastFailureAt_idx" ON "Lockout"("lastFailureAt");

-- CreateIndex
CREATE INDEX "Draft_person_changedAt_idx" ON "Draft"("person", "changedAt");

-- CreateIndex
CREATE INDEX "ScanJob_state_idx" ON "ScanJob"("state");

-- CreateIndex
CREATE INDEX "ScanJob_lot_build_idx" ON "ScanJob"("lot", "build");

-- CreateIndex
CREATE INDEX "KeptView_view_closed_neededBy_lot_idx" ON "KeptView"("view", "closed", "neededBy", "lot");

-- CreateIndex
CREATE INDEX "KeptView_view_asks_idx" ON "KeptView"("view", "asks");

-- CreateIndex
CREATE INDEX "KeptView_view_awaiting_idx" ON "KeptView"("view", "awaiting");

-- CreateIndex
CREATE INDEX "KeptView_view_version_madeAt_touchedAt_lot_idx" ON "KeptView"("view", "version", "madeAt", "touchedAt", "lot");

-- CreateIndex
CREATE INDEX "KeptTopic_view_lot_idx" ON "KeptTopic"("view", "lot");

-- AddForeignKey
ALTER TABLE "Revision" ADD CONSTRAINT "Revision_entryId_fkey" FOREIGN KEY ("entryId") REFERENCES "Entry"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Link" ADD CONSTRAINT "Link_fromRevisionId_fkey" FOREIGN KEY ("fromRevisionId") REFERENCES "Revision"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Link" ADD CONSTRAINT "Link_toEntryId_fkey" FOREIGN KEY ("toEntryId") REFERENCES "Entry"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Link" ADD CONSTRAINT "Link_toEvidence_fkey" FOREIGN KEY ("toEvidence") REFERENCES "Evidence"("sha256") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LogSummary" ADD CONSTRAINT "LogSummary_logFileId_fkey" FOREIGN KEY ("logFileId") REFERENCES "LogFile"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Finding" ADD CONSTRAINT "Finding_logFileId_fkey" FOREIGN KEY ("logFileId") REFERENCES "LogFile"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SignatureSubject" ADD CONSTRAINT "SignatureSubject_signature_fkey" FOREIGN KEY ("signature") REFERENCES "Signature"("digest") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "DraftFile" ADD CONSTRAINT "DraftFile_draft_fkey" FOREIGN KEY ("draft") REFERENCES "Draft"("name") ON DELETE CASCADE ON UPDATE CASCADE;

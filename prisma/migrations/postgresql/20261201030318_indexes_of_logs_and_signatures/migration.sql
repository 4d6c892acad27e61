-- CreateIndex
CREATE INDEX "LogFile_lot_idx" ON "LogFile"("lot");

-- CreateIndex
CREATE INDEX "Signature_ledgerSeq_idx" ON "Signature"("ledgerSeq");

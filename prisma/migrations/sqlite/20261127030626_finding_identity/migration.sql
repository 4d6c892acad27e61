-- CreateIndex
CREATE INDEX "Finding_identity_idx" ON "Finding"("identity");

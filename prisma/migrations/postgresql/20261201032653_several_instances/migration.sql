-- AlterTable
ALTER TABLE "ScanJob" DROP COLUMN "leaseUntil";

-- CreateTable
CREATE TABLE "Lease" (
    "name" TEXT NOT NULL,
    "holder" TEXT NOT NULL,
    "instance" TEXT NOT NULL,
    "endsAt" TEXT NOT NULL,

    CONSTRAINT "Lease_pkey" PRIMARY KEY ("name")
);

-- CreateTable
CREATE TABLE "Rate" (
    "window" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "instance" TEXT NOT NULL,
    "count" BIGINT NOT NULL,

    CONSTRAINT "Rate_pkey" PRIMARY KEY ("window","name","instance")
);

-- CreateTable
CREATE TABLE "Generation" (
    "id" BIGINT NOT NULL,
    "number" BIGINT NOT NULL,
    "version" TEXT NOT NULL,

    CONSTRAINT "Generation_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "Lease_instance_idx" ON "Lease"("instance");

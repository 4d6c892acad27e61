import { Module } from '@nestjs/common';
import { LotsModule } from '../lots/lots.module.js';
import { CapabilityPapers } from './capability/capability-papers.js';
import { PackageWriter } from './package-writer.js';
import { PaperWriter } from './paper-writer.js';
import { RecordIssuer } from './record-issuer.js';

/** Records, papers and packages of a lot. */
@Module({
  imports: [LotsModule],
  providers: [RecordIssuer, PackageWriter, PaperWriter, CapabilityPapers],
  exports: [RecordIssuer, PackageWriter, PaperWriter, CapabilityPapers],
})
export class RecordsModule {}

import { Module } from '@nestjs/common';
import { LotsModule } from '../lots/lots.module.js';
import { PeopleModule } from '../people/people.module.js';
import { RecordsModule } from '../records/records.module.js';
import { WebModule } from '../web/web.module.js';
import { CertificatesController } from './certificates-controller.js';
import { CertificatesPage } from './certificates-page.js';
import { FamilyPage } from './family-page.js';
import { StatementsController } from './statements-controller.js';
import { StatementsOnRecord } from './statements-on-record.js';
import { TrendModule } from './trend.module.js';
import { TrendController } from './trend-controller.js';

/** Pages of the trend, apart from it: the command starts without pages and charts. */
@Module({
  imports: [WebModule, LotsModule, PeopleModule, RecordsModule, TrendModule],
  controllers: [TrendController, StatementsController, CertificatesController],
  providers: [StatementsOnRecord, FamilyPage, CertificatesPage],
})
export class TrendPagesModule {}

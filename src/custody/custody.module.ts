import { Module } from '@nestjs/common';
import { PeopleModule } from '../people/people.module.js';
import { WebModule } from '../web/web.module.js';
import { AuditController } from './audit-controller.js';
import { AuditTrail } from './audit-trail.js';
import { CheckController } from './check-controller.js';
import { ReadsController } from './reads-controller.js';

/** What keeps a data folder whole, and its audit trail readable. */
@Module({
  imports: [WebModule, PeopleModule],
  controllers: [ReadsController, AuditController, CheckController],
  providers: [AuditTrail],
  exports: [AuditTrail],
})
export class CustodyModule {}

import { Module } from '@nestjs/common';
import { LotsModule } from '../lots/lots.module.js';
import { PeopleModule } from '../people/people.module.js';
import { RecordsModule } from '../records/records.module.js';
import { TraceModule } from '../trace/trace.module.js';
import { TrendModule } from '../trend/trend.module.js';
import { WebModule } from '../web/web.module.js';
import { ApiController } from './api-controller.js';
import { ApiPageController } from './api-page-controller.js';

/** The JSON API, and the page that describes it. */
@Module({
  imports: [WebModule, PeopleModule, LotsModule, RecordsModule, TraceModule, TrendModule],
  controllers: [ApiPageController, ApiController],
})
export class ApiModule {}

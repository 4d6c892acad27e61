import { Module } from '@nestjs/common';
import { PeopleModule } from '../people/people.module.js';
import { WebModule } from '../web/web.module.js';
import { RecordsModule } from './records.module.js';
import { RecordsController } from './records-controller.js';

/** Routes of records, apart from them: commands start without pages. */
@Module({ imports: [WebModule, PeopleModule, RecordsModule], controllers: [RecordsController] })
export class RecordsPagesModule {}

import { Module } from '@nestjs/common';
import { EntryModule } from '../entry/entry.module.js';
import { IntakeModule } from '../intake/intake.module.js';
import { PeopleModule } from '../people/people.module.js';
import { WebModule } from '../web/web.module.js';
import { ResultSheets } from './result-sheets.js';
import { SheetsController } from './sheets-controller.js';

/** Result sheets that are typed on pages. */
@Module({
  imports: [WebModule, PeopleModule, IntakeModule, EntryModule],
  controllers: [SheetsController],
  providers: [ResultSheets],
})
export class SheetsModule {}

import { Module } from '@nestjs/common';
import { EntryModule } from '../entry/entry.module.js';
import { LotsModule } from '../lots/lots.module.js';
import { PeopleModule } from '../people/people.module.js';
import { WebModule } from '../web/web.module.js';
import { PrepareModule } from './prepare.module.js';
import { PrepareController } from './prepare-controller.js';

/** Lots planned on pages. */
@Module({
  imports: [WebModule, PeopleModule, EntryModule, LotsModule, PrepareModule],
  controllers: [PrepareController],
})
export class PreparePagesModule {}

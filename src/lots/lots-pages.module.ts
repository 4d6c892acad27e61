import { Module } from '@nestjs/common';
import { PeopleModule } from '../people/people.module.js';
import { WebModule } from '../web/web.module.js';
import { LotsModule } from './lots.module.js';
import { LotsController } from './lots-controller.js';

/** Routes of lots, apart from them: commands start without pages. */
@Module({ imports: [WebModule, PeopleModule, LotsModule], controllers: [LotsController] })
export class LotsPagesModule {}

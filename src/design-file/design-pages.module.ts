import { Module } from '@nestjs/common';
import { IntakeModule } from '../intake/intake.module.js';
import { LotsModule } from '../lots/lots.module.js';
import { PeopleModule } from '../people/people.module.js';
import { WebModule } from '../web/web.module.js';
import { ChangeController } from './change-controller.js';
import { DesignController } from './design-controller.js';
import { DesignFileModule } from './design-file.module.js';
import { RangesController } from './ranges-controller.js';

/** Pages of a design history, apart from it: the command starts without pages. */
@Module({
  imports: [WebModule, PeopleModule, IntakeModule, DesignFileModule, LotsModule],
  controllers: [DesignController, RangesController, ChangeController],
})
export class DesignPagesModule {}

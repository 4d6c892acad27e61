import { Module } from '@nestjs/common';
import { IntakeModule } from '../intake/intake.module.js';
import { PeopleModule } from '../people/people.module.js';
import { WebModule } from '../web/web.module.js';
import { DesignController } from './design-controller.js';
import { DesignFileModule } from './design-file.module.js';

/** Pages of a design history, apart from it: the command starts without pages. */
@Module({ imports: [WebModule, PeopleModule, IntakeModule, DesignFileModule], controllers: [DesignController] })
export class DesignPagesModule {}

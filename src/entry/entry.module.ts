import { Module } from '@nestjs/common';
import { IntakeModule } from '../intake/intake.module.js';
import { IntakePagesModule } from '../intake/intake-pages.module.js';
import { LotsModule } from '../lots/lots.module.js';
import { PeopleModule } from '../people/people.module.js';
import { WebModule } from '../web/web.module.js';
import { EntryController } from './entry-controller.js';
import { EntryForms } from './entry-forms.js';
import { KnownCodes } from './known-codes.js';
import { Scans } from './scans.js';
import { ScansController } from './scans-controller.js';

/** Forms in which documents are made. */
@Module({
  imports: [WebModule, PeopleModule, LotsModule, IntakeModule, IntakePagesModule],
  controllers: [EntryController, ScansController],
  providers: [EntryForms, KnownCodes, Scans],
  exports: [EntryForms, KnownCodes],
})
export class EntryModule {}

import { Module } from '@nestjs/common';
import { LotsModule } from '../lots/lots.module.js';
import { PeopleModule } from '../people/people.module.js';
import { WebModule } from '../web/web.module.js';
import { SigningPreview } from './before-signing.js';
import { BesideSigning } from './beside.js';
import { KeptSignatures } from './kept-signatures.js';
import { LotOutlooks } from './lot-outlook.js';
import { LotStandings } from './lot-standing.js';
import { ReviewList } from './review-list.js';
import { SignApiController } from './sign-api-controller.js';
import { SignController } from './sign-controller.js';
import { Signing } from './signing.js';
import { StateActs } from './state-acts.js';
import { Subjects } from './subjects.js';
import { WaitingList } from './waiting-list.js';

/** What waits for a signature, and the act of signing. */
@Module({
  imports: [WebModule, PeopleModule, LotsModule],
  controllers: [SignController, SignApiController],
  providers: [
    Subjects,
    ReviewList,
    BesideSigning,
    KeptSignatures,
    LotOutlooks,
    LotStandings,
    Signing,
    SigningPreview,
    StateActs,
    WaitingList,
  ],
  exports: [Subjects, ReviewList, LotOutlooks, LotStandings, Signing, SigningPreview, StateActs, WaitingList],
})
export class SigningModule {}

import { Module } from '@nestjs/common';
import { Store } from '../store/store.js';
import { WebModule } from '../web/web.module.js';
import { AccountActs } from './account-acts.js';
import { AccountController } from './account-controller.js';
import { AccountLinks } from './account-links.js';
import { Accounts } from './accounts.js';
import { Actor } from './actor.js';
import { Drafts } from './drafts.js';
import { ElsewhereController } from './elsewhere/elsewhere-controller.js';
import { SignInElsewhere } from './elsewhere/sign-in-elsewhere.js';
import { IdentityCookie } from './identity-cookie.js';
import { IntakeTokens } from './intake-tokens.js';
import { IntakeTokensController } from './intake-tokens-controller.js';
import { PeopleActsController } from './people-acts-controller.js';
import { PeopleController } from './people-controller.js';
import { Sessions } from './sessions.js';
import { SignInApiController } from './sign-in-api-controller.js';
import { SignInController } from './sign-in-controller.js';
import { SetUpController } from './sign-in-set-up-controller.js';

/** Accounts, sessions, and who may do what. */
@Module({
  imports: [WebModule],
  controllers: [
    SignInController,
    SignInApiController,
    ElsewhereController,
    SetUpController,
    AccountController,
    IntakeTokensController,
    PeopleController,
    PeopleActsController,
  ],
  providers: [
    Accounts,
    AccountActs,
    AccountLinks,
    IntakeTokens,
    Sessions,
    SignInElsewhere,
    Drafts,
    Actor,
    { provide: IdentityCookie, useFactory: ({ key }: Store) => new IdentityCookie(key.fingerprint), inject: [Store] },
  ],
  exports: [Accounts, AccountActs, AccountLinks, IntakeTokens, Sessions, Drafts, Actor, IdentityCookie],
})
export class PeopleModule {}

import { Body, Controller, Get, HttpCode, Param, Post, Query } from '@nestjs/common';
import { Accounts } from '../people/accounts.js';
import { Actor } from '../people/actor.js';
import { Access } from '../web/access.js';
import { NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { SigningPreview } from './before-signing.js';
import { BeforeSigningAnswer, beforeSigningAnswer, SignedAnswer, WaitingAnswer } from './sign-answers.js';
import { LookByProgram, SignQuery, SignRequest, UnitActRequest } from './sign-requests.js';
import { Signing } from './signing.js';
import { StateActs } from './state-acts.js';
import { thingFrom } from './thing.js';
import { actBySlug } from './unit-acts.js';
import { WaitingList } from './waiting-list.js';

/** Signing for programs: the same services and the same rules, with the password of the person who is signed in. */
@Controller('api/v1')
export class SignApiController {
  constructor(
    private readonly waitingList: WaitingList,
    private readonly preview: SigningPreview,
    private readonly signing: Signing,
    private readonly acts: StateActs,
    private readonly accounts: Accounts,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Operation({ summary: 'What waits for a signature, and who may give it', answer: WaitingAnswer })
  @Get('waiting')
  async waiting() {
    return { waiting: await this.waitingList.all() };
  }

  @Access('signed in')
  @Operation({
    summary: 'What would be signed by the same address as it stands now, and what lies beside it; nothing is stored',
    answer: BeforeSigningAnswer,
  })
  @Get('sign')
  async beforeSigning(@Query({ schema: SignQuery }) { thing, meaning, step }: SignQuery) {
    return beforeSigningAnswer(await this.preview.all(thing.map(thingFrom), meaning, this.actor.person, step), meaning);
  }

  @Access('signed in')
  @Operation({ summary: 'Sign all of these things or none, by one act that gives one statement', answer: SignedAnswer })
  @Post('sign')
  @HttpCode(200)
  async sign(@Body({ schema: SignRequest }) { things, password, ...rest }: SignRequest) {
    const proof = await this.accounts.prove(this.actor.person, password);
    return { signed: await this.signing.sign(proof, { ...rest, things: things.map(thingFrom) }) };
  }

  @Access('signed in')
  @Operation({
    summary: 'Place a hold (hold), lift it (lift-hold), or revoke a release (revoke)',
    answer: 'nothing',
  })
  @Post('lots/:lot/acts/:act')
  @HttpCode(204)
  async act(
    @Param('lot', NAMED) lot: string,
    @Param('act', NAMED) slug: string,
    @Body({ schema: UnitActRequest }) { units, reason, password }: UnitActRequest,
  ): Promise<void> {
    await actBySlug(slug).run(this.acts, await this.accounts.prove(this.actor.person, password), lot, units, reason);
  }

  @Access('signed in')
  @Operation({
    summary: 'Say of changed verdicts, named by their entries in the audit trail, that you looked and what follows',
    answer: 'nothing',
  })
  @Post('lots/:lot/changed-verdicts')
  @HttpCode(204)
  async look(
    @Param('lot', NAMED) lot: string,
    @Body({ schema: LookByProgram }) { entries, reason, password }: LookByProgram,
  ): Promise<void> {
    await this.acts.lookAtChanges(await this.accounts.prove(this.actor.person, password), lot, entries, reason);
  }
}

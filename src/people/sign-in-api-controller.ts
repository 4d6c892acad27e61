import { Body, Controller, Delete, Get, HttpCode, Post, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { Access, NoCases, OpenToAuditors } from '../web/access.js';
import { Operation } from '../web/operation.js';
import { Accounts } from './accounts.js';
import { Actor } from './actor.js';
import { IdentityCookie } from './identity-cookie.js';
import { SessionAnswer } from './session-answer.js';
import { Sessions } from './sessions.js';
import { SignInRequest } from './sign-in-requests.js';

/** Signing in and out for programs: the same cookie as that of the pages, and the token that changes must carry. */
@Controller('api/v1/session')
export class SignInApiController {
  constructor(
    private readonly accounts: Accounts,
    private readonly sessions: Sessions,
    private readonly cookie: IdentityCookie,
    private readonly actor: Actor,
  ) {}

  @Access('everyone')
  @Operation({
    summary: 'Sign in: sets the cookie, and gives the token that every change carries',
    answer: SessionAnswer,
  })
  @Post()
  @HttpCode(200)
  async begin(
    @Body({ schema: SignInRequest }) { person, password }: SignInRequest,
    @Req() request: Request,
    @Res({ passthrough: true }) response: Response,
  ) {
    const proof = await this.accounts.prove(person, password);
    const { token, csrf, endsAt } = await this.sessions.begin(proof, this.cookie.read(request));
    this.cookie.write(request, response, token);
    return { person: proof.person, name: proof.name, csrf, endsAt };
  }

  @Access('signed in')
  @Operation({ summary: 'Who is signed in', answer: SessionAnswer })
  @NoCases()
  @Get()
  show() {
    const { person, name, csrf, endsAt } = this.actor.session;
    return { person, name, csrf, endsAt };
  }

  @Access('signed in')
  @OpenToAuditors()
  @Operation({ summary: 'Sign out', answer: 'nothing' })
  @Delete()
  @HttpCode(204)
  async end(@Req() request: Request, @Res({ passthrough: true }) response: Response): Promise<void> {
    const token = this.cookie.read(request);
    if (token !== undefined) await this.sessions.end(token);
    this.cookie.clear(request, response);
  }
}

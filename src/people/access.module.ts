import { Module } from '@nestjs/common';
import { APP_GUARD } from '@nestjs/core';
import { AccessGuard } from './access-guard.js';
import { PeopleModule } from './people.module.js';

/** The guard of every route. It is apart from the people, because commands need those and no guard. */
@Module({ imports: [PeopleModule], providers: [{ provide: APP_GUARD, useClass: AccessGuard }] })
export class AccessModule {}

import { Module } from '@nestjs/common';
import { APP_GUARD, APP_INTERCEPTOR } from '@nestjs/core';
import { Unchanged } from '../web/unchanged.js';
import { AccessGuard } from './access-guard.js';
import { NotedReads } from './noted-reads.js';
import { PeopleModule } from './people.module.js';

/** The guard of every route, and who notes what is read. They are apart from the people, because commands need those alone. */
@Module({
  imports: [PeopleModule],
  providers: [
    { provide: APP_GUARD, useClass: AccessGuard },
    { provide: APP_INTERCEPTOR, useClass: NotedReads },
    // Behind the one above: who is told that an answer stands has read it again.
    { provide: APP_INTERCEPTOR, useClass: Unchanged },
  ],
})
export class AccessModule {}

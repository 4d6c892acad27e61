import { Injectable } from '@nestjs/common';
import { AppError } from '../base/errors.js';
import type { Session } from '../web/identity.js';
import { currentSession } from '../web/identity.js';
import { personActor, personActorThrough } from './account-state.js';

/** Who acts in the request that is being answered. */
@Injectable()
export class Actor {
  /** As the audit trail names them: `person:TO`. */
  get name(): string {
    const { person, through } = this.session;
    return through === undefined ? personActor(person) : personActorThrough(person, through);
  }

  /** Code of the person. */
  get person(): string {
    return this.session.person;
  }

  /** @throws AppError NOT_SIGNED_IN when nobody is. */
  get session(): Session {
    const session = currentSession();
    if (!session) throw new AppError('NOT_SIGNED_IN', 'nobody is signed in; nothing was done');
    return session;
  }
}

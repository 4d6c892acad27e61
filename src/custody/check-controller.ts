import { Controller } from '@nestjs/common';
import { mayKeepAccounts } from '../people/accounts.js';
import { Actor } from '../people/actor.js';
import { refuseAct } from '../people/refuse-act.js';
import { denialText } from '../report/phrases/authority.js';
import { JOBS } from '../report/phrases/jobs.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { FormPost } from '../web/forms.js';
import { Jobs } from '../web/jobs.js';
import { checkApart } from './check-apart.js';

/** Where the protection of the folder is told, with the last check of it. */
const PLACE = '/protection#checked';

/** The check of everything that is kept, asked for by whoever keeps the installation. */
@Controller('protection')
export class CheckController {
  constructor(
    private readonly store: Store,
    private readonly jobs: Jobs,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @FormPost('check')
  async check(): Promise<string> {
    const { name: actor, person, session } = this.actor;
    const authority = mayKeepAccounts(person, session.acting);
    if (!authority.may) {
      await refuseAct(this.store, { actor, person, act: 'POST /protection/check', why: denialText(authority.why) });
    }
    return this.jobs.beginAndWait({
      key: 'integrity',
      sort: 'integrity',
      title: JOBS.integrity,
      starter: session,
      back: PLACE,
      work: async ({ signal }) => {
        await checkApart(this.store, signal);
        return PLACE;
      },
    });
  }
}

import { Injectable } from '@nestjs/common';
import { type EarliestRelease, notBefore } from '../assessment/earliest-release.js';
import { stamp } from '../base/clock.js';
import { localDay } from '../base/stamp.js';
import { Accounts } from '../people/accounts.js';
import { Store } from '../store/store.js';
import { KeptSignatures } from './kept-signatures.js';
import { type PeopleLeft, peopleLeft } from './people-left.js';
import { candidatesOn } from './situation.js';

/** What lies ahead of a lot that is not decided. */
export interface LotOutlook {
  readonly earliest: EarliestRelease;
  /** Null where somebody has reviewed it already, or where nobody has an account. */
  readonly people: PeopleLeft | null;
}

/** When lots can be released at the earliest, and whether enough people are left to do it. */
@Injectable()
export class LotOutlooks {
  constructor(
    private readonly store: Store,
    private readonly accounts: Accounts,
    private readonly signatures: KeptSignatures,
  ) {}

  /** @returns of each of them that is not decided, as far as it is known without waiting for others' work. */
  async of(lots: readonly string[]): Promise<ReadonlyMap<string, LotOutlook>> {
    const { read, clock } = this.store;
    const candidates = await candidatesOn(read, await this.accounts.people(), localDay(stamp(clock)));
    const found = new Map<string, LotOutlook>();
    for (const { lot, ahead } of (await this.signatures.lots.toldOf(lots)).values) {
      if (ahead === null) continue;
      const { earliest, doers } = ahead;
      const people = doers === null || candidates.length === 0 ? null : peopleLeft(doers, candidates);
      found.set(lot, { earliest: notBefore(earliest, clock.now()), people });
    }
    return found;
  }
}

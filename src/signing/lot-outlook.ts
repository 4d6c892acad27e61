import { Injectable } from '@nestjs/common';
import type { CheckCode } from '../assessment/checks/check-code.js';
import { type EarliestRelease, earliestRelease } from '../assessment/earliest-release.js';
import { stamp } from '../base/clock.js';
import { localDay } from '../base/stamp.js';
import { revisionKey } from '../dossier/facts.js';
import type { Lot } from '../kinds/lot.js';
import type { Method } from '../kinds/method.js';
import type { Specification } from '../kinds/specification.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { Accounts } from '../people/accounts.js';
import { currentLot } from '../store/lots-now.js';
import { Store } from '../store/store.js';
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
    private readonly current: CurrentAssessments,
    private readonly accounts: Accounts,
  ) {}

  /** @param lots that are not decided; each takes a few reads. */
  async of(lots: readonly string[]): Promise<ReadonlyMap<string, LotOutlook>> {
    const { read, clock } = this.store;
    const candidates = await candidatesOn(read, await this.accounts.people(), localDay(stamp(clock)));
    const found = new Map<string, LotOutlook>();
    for (const code of lots) {
      const body = await currentLot(read, code);
      const isAsked = candidates.length > 0 && !(await this.isReviewed(code));
      found.set(code, {
        earliest: await this.earliest(body),
        people: isAsked ? await peopleLeft(read, body, candidates) : null,
      });
    }
    return found;
  }

  private async isReviewed(lot: string): Promise<boolean> {
    const onLot = await this.store.read.signatures.of({ kind: 'lot file', key: lot });
    return onLot.some(({ signed }) => signed.statement.meaning === 'reviewed');
  }

  private async earliest(lot: Lot): Promise<EarliestRelease> {
    const { entries } = this.store.read;
    const named = lot.specification;
    const specification = (await entries.revision('specification', named.specification, named.revision))!.body;
    const methods = new Map<string, Method>();
    for (const { method } of specification.characteristics) {
      const found = await entries.revision('method', method.method, method.revision);
      if (found) methods.set(revisionKey(method.method, method.revision), found.body);
    }
    return earliestRelease({
      ...{ lot, specification, now: this.store.clock.now() },
      methodOf: ({ method }) => methods.get(revisionKey(method.method, method.revision)),
      missing: await this.missingIn(lot.lot, specification),
    });
  }

  /** All that is planned, of a lot that was not assessed yet. */
  private async missingIn(lot: string, { characteristics }: Specification): Promise<ReadonlySet<string>> {
    const assessed = (await this.current.units(lot)).get(lot);
    if (assessed === undefined) return new Set(characteristics.map(({ characteristic }) => characteristic));
    const found = assessed.checks.find(({ code }) => code === RESULTS_COMPLETE)?.findings ?? [];
    return new Set(found.flatMap(({ facts }) => facts.characteristic ?? []));
  }
}

const RESULTS_COMPLETE: CheckCode = 'results-complete';

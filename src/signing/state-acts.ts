import { Injectable } from '@nestjs/common';
import { stamp } from '../base/clock.js';
import { AppError, BadInputError, NotFoundError } from '../base/errors.js';
import { localDay } from '../base/stamp.js';
import type { ReleaseStep } from '../dossier/release-step.js';
import { partsInside } from '../kinds/split-lot.js';
import type { Event } from '../ledger/event.js';
import { unitStatesOf } from '../lots/unit-decisions.js';
import type { UnitState } from '../lots/unit-states.js';
import { unseenChanges } from '../lots/verdict-changes.js';
import { actNamed } from '../people/acts.js';
import { authorityFor } from '../people/authority.js';
import { Proof } from '../people/proof.js';
import { givenReason } from '../people/reason.js';
import { actNameText } from '../report/phrases/acts.js';
import { denialText } from '../report/phrases/authority.js';
import { kindText } from '../report/phrases/kinds.js';
import { type Objection, objectionText } from '../report/phrases/objections.js';
import { currentLot } from '../store/lots-now.js';
import type { Change } from '../store/repositories.js';
import { Store } from '../store/store.js';
import { candidateOn } from './situation.js';

export const WITHDRAW = 'withdraw a document for cause';
export const LOOK_AT_CHANGES = 'look at changed verdicts';

/** Holds, withdrawals and revocations: events with a reason, signed by a person who has just shown who they are. */
@Injectable()
export class StateActs {
  constructor(private readonly store: Store) {}

  /** Why a person may not perform one of these acts, before a form for it is shown; undefined when they may. */
  async whyNot(actName: string, person: string): Promise<string | undefined> {
    const candidate = await candidateOn(this.store.read, person, localDay(stamp(this.store.clock)));
    const authority = authorityFor(actNamed(actName), candidate, {});
    return authority.may ? undefined : denialText(authority.why);
  }

  /** @throws AppError REFUSED without the role; BadInputError for units that are no units of the lot. */
  async placeHold(proof: Proof, lot: string, units: readonly string[], reason: string): Promise<void> {
    await this.onUnits(proof, 'place a hold', lot, units, reason, () => ({ type: 'hold-placed' }));
  }

  async liftHold(proof: Proof, lot: string, units: readonly string[], reason: string): Promise<void> {
    await this.onUnits(proof, 'lift a hold', lot, units, reason, (states) => {
      const free = states.find(({ hold }) => hold === null);
      if (free) throw conflict({ code: 'not on hold', facts: { serial: free.serial } });
      return { type: 'hold-lifted' };
    });
  }

  /** The last release that stands can be revoked and is never erased: what an implant was released for before, stands. */
  async revokeRelease(proof: Proof, lot: string, units: readonly string[], reason: string): Promise<void> {
    await this.onUnits(proof, 'revoke a release', lot, units, reason, revocationOf);
  }

  /** From now on nothing that rests on this revision can be released without a decision. */
  async withdrawDocument(
    proof: Proof,
    document: { kind: string; key: string; revision: number },
    reason: string,
  ): Promise<void> {
    const { kind, key, revision } = document;
    if (!(await this.store.read.entries.revision(kind, key, revision))) {
      throw new NotFoundError(kindText(kind), `${key} revision ${revision}`);
    }
    await this.record(proof, WITHDRAW, { kind, key }, null, reason, async (change) => {
      const known = await change.events.of({ kind, key });
      if (known.some(({ event }) => event.type === 'document-withdrawn' && event.revision === revision)) {
        throw conflict({ code: 'withdrawn already', facts: document });
      }
      return { type: 'document-withdrawn', kind, key, revision };
    });
  }

  /**
   * A quality engineer has looked at verdicts that rules of another version changed, and says what follows from it. No
   * decision on a unit changes by it.
   * @param entries of the audit trail that record the changes, as they were shown.
   */
  async lookAtChanges(proof: Proof, lot: string, entries: readonly number[], reason: string): Promise<void> {
    await this.store.read.entries.currentOrThrow('lot', lot);
    await this.record(proof, LOOK_AT_CHANGES, { kind: 'lot', key: lot }, lot, reason, async (change) => {
      const open = unseenChanges(await change.events.of({ kind: 'lot', key: lot })).map(({ entry }) => entry);
      const strange = entries.filter((entry) => !open.includes(entry));
      if (entries.length === 0 || strange.length > 0)
        throw badEntries(strange.join(', ') || 'none', [...new Set(open)]);
      return { type: 'verdict-changes-seen', lot, entries: [...new Set(entries)].sort((a, b) => a - b) };
    });
  }

  /** Records of the lot are kept, and no evidence of it is removed, until the hold is lifted. */
  async placeLegalHold(proof: Proof, lot: string, reason: string): Promise<void> {
    await this.onLegalHold(proof, 'place a legal hold', 'legal-hold-placed', lot, reason);
  }

  async liftLegalHold(proof: Proof, lot: string, reason: string): Promise<void> {
    await this.onLegalHold(proof, 'lift a legal hold', 'legal-hold-lifted', lot, reason);
  }

  private async onLegalHold(
    proof: Proof,
    act: string,
    type: 'legal-hold-placed' | 'legal-hold-lifted',
    lot: string,
    reason: string,
  ): Promise<void> {
    await this.store.read.entries.currentOrThrow('lot', lot);
    await this.record(proof, act, { kind: 'lot', key: lot }, lot, reason, async (change) => {
      const events = await change.events.of({ kind: 'lot', key: lot });
      const last = events.findLast(({ event }) => event.type.startsWith('legal-hold-'));
      const held = last?.event.type === 'legal-hold-placed';
      if (held === (type === 'legal-hold-placed')) {
        throw conflict({ code: held ? 'under legal hold' : 'not under legal hold', facts: { lot } });
      }
      return { type, lot };
    });
  }

  private async onUnits(
    proof: Proof,
    act: string,
    lot: string,
    units: readonly string[],
    reason: string,
    eventOn: (states: readonly UnitState[]) => OnUnits,
  ): Promise<void> {
    // One that went on in another lot is held and released there.
    const serials = partsInside(await currentLot(this.store.read, lot)).implants.map((implant) => implant.serial);
    const strange = units.filter((serial) => !serials.includes(serial));
    if (units.length === 0 || strange.length > 0) {
      throw badUnits(strange.join(', ') || 'none', serials);
    }
    await this.record(proof, act, { kind: 'lot', key: lot }, lot, reason, async (change) => {
      const event = eventOn(await unitStatesOf(change, lot, [...units]));
      return { ...event, lot, units: [...units].sort() };
    });
  }

  private async record(
    proof: Proof,
    actName: string,
    subject: { kind: string; key: string },
    lot: string | null,
    reason: string,
    event: (change: Change) => Promise<Event>,
  ): Promise<void> {
    const given = givenReason(reason);
    const act = actNamed(actName);
    const refused = await Proof.signing(proof, (pen) =>
      this.store.change(proof.actor, async (change) => {
        const day = localDay(stamp(this.store.clock));
        const authority = authorityFor(act, await candidateOn(change, proof.person, day), {});
        if (authority.may) {
          await change.events.act(await event(change), [pen], given);
          return undefined;
        }
        const why = denialText(authority.why);
        await change.events.add({ type: 'act-refused', act: act.act, subject, lot, person: proof.person, why });
        return why;
      }),
    );
    if (refused !== undefined)
      throw new AppError('REFUSED', `you may not ${actNameText(act.act)}: ${refused}`, { act: act.act });
  }
}

/** What befalls units, before it is said which. */
type OnUnits =
  | { readonly type: 'hold-placed' | 'hold-lifted' }
  | { readonly type: 'release-revoked'; readonly step: ReleaseStep };

/** @throws AppError CONFLICT when one of them is released for nothing, or for another step than the others. */
function revocationOf(states: readonly UnitState[]): OnUnits {
  const units = states.map(({ serial, releasedFor }) => {
    const step = releasedFor.at(-1);
    if (step === undefined) throw conflict({ code: 'not released', facts: { serial } });
    return { serial, step };
  });
  const { step } = units[0]!;
  if (units.some((unit) => unit.step !== step)) throw conflict({ code: 'other steps', facts: { units } });
  return { type: 'release-revoked', step };
}

const conflict = (objection: Objection) => new AppError('CONFLICT', objectionText(objection));

const badUnits = (found: string, serials: readonly string[]) =>
  new BadInputError([
    {
      code: 'units',
      field: 'units',
      found,
      expected: `units of this lot: ${serials.join(', ')}`,
      remedy: 'name at least one',
    },
  ]);

const badEntries = (found: string, open: readonly number[]) =>
  new BadInputError([
    {
      code: 'entries',
      field: 'entries',
      found,
      expected: `changed verdicts of this lot at which nobody has looked: ${open.join(', ') || 'there is none'}`,
      remedy: 'name the entries that the page of the lot or "lotwright status" shows',
    },
  ]);

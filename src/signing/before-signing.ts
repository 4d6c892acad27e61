import { Injectable } from '@nestjs/common';
import { stepsAsked } from '../assessment/gates.js';
import { partsBy } from '../assessment/parts-in-lot.js';
import { stamp } from '../base/clock.js';
import { localDay } from '../base/stamp.js';
import { firstChange } from '../dossier/changes.js';
import type { ReleaseStep } from '../dossier/release-step.js';
import { type Meaning, type SignedSubject, type Statement, soleSubject } from '../dossier/statement.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import { unitStatesOf } from '../lots/unit-decisions.js';
import { Accounts } from '../people/accounts.js';
import { ACTS, type Act } from '../people/acts.js';
import { type Authority, authorityFor, type Candidate } from '../people/authority.js';
import { denialText } from '../report/phrases/authority.js';
import { differenceText, firstChangeText, SIGNED_CHANGED } from '../report/phrases/differences.js';
import { ASSESSED_SINCE, SIGNED_ASSESSMENT_GONE } from '../report/phrases/earlier-version.js';
import { objectionText } from '../report/phrases/objections.js';
import { partTexts } from '../report/phrases/parts-in-lot.js';
import { signedText } from '../report/phrases/signatures.js';
import { Store } from '../store/store.js';
import { type Beside, BesideSigning } from './beside.js';
import { isSignedBy, orderObjection } from './order.js';
import { type Condition, releaseConditions } from './release-conditions.js';
import type { Signable } from './signable.js';
import { differencesSince, verdictsSince } from './signed-lot-file.js';
import { actToSign, Signing } from './signing.js';
import { changedThing } from './since-looked.js';
import { candidatesOn, type Situation, situationOf } from './situation.js';
import { Subjects } from './subjects.js';
import type { Thing } from './thing.js';
import { unitObjection } from './unit-objection.js';

export interface UnitBefore {
  readonly serial: string;
  readonly verdict: string;
  readonly why: string | null;
  /** Identity of the finding that holds it back; null where that is something else. */
  readonly finding: string | null;
}

/** Everything that a person should see of one thing before signing it. */
export interface BeforeSigning {
  readonly signable: Signable;
  readonly act: Act;
  /** Why this person may not sign, or null. */
  readonly why: string | null;
  /** What a release would be for; null for everything else. */
  readonly step: ReleaseStep | null;
  /** Steps that the route of the units asks a release for. */
  readonly steps: readonly ReleaseStep[];
  /** Of a lot file, for releases and rejections: its units, each with why it cannot be decided on so, or null. */
  readonly units: readonly UnitBefore[] | null;
  readonly earlier: readonly { readonly says: string; readonly reason: string | null }[];
  /** What differs from what was signed last, in words. */
  readonly changes: readonly string[];
  readonly beside: Beside;
  /** Of a release: what has to hold on the day, as it stands now; null for everything else. */
  readonly conditions: readonly Condition[] | null;
  /** Of a lot file: every part that this person had in the lot, in words. */
  readonly parts: readonly string[] | null;
  /** Acts that this person could not do any more on the same thing or lot. */
  readonly rulesOut: readonly { readonly act: string; readonly stillMay: readonly string[] }[];
  /** Codes of the people who may sign this now. */
  readonly who: readonly string[];
}

/** Gathers what stands behind a signature before it is given. */
@Injectable()
export class SigningPreview {
  constructor(
    private readonly store: Store,
    private readonly subjects: Subjects,
    private readonly accounts: Accounts,
    private readonly beside: BesideSigning,
  ) {}

  /**
   * Of things that are signed together. Nothing is stored.
   * @param step of a release; where it is not said, the first that some unit may be released for, else the first of all.
   * @throws BadInputError for a meaning that such a thing is not signed with, NotFoundError, AppError CONFLICT.
   */
  async all(things: readonly Thing[], meaning: Meaning, person: string, step?: ReleaseStep): Promise<BeforeSigning[]> {
    for (const { kind } of things) actToSign(meaning, kind);
    const candidates = await this.candidates();
    const found: BeforeSigning[] = [];
    for (const signable of await this.subjects.lookAtAll(things)) {
      found.push(await this.one(signable, { meaning, step }, person, candidates));
    }
    return found;
  }

  /**
   * What has changed of things and of what lay beside them since somebody looked, a sentence each.
   * @param seen as their page named it.
   */
  async changedSince(things: readonly Thing[], seen: string, now: readonly BeforeSigning[]): Promise<string[]> {
    const told: string[] = [];
    for (const [index, { signable, beside }] of now.entries()) {
      const changed = await changedThing(this.store.read, things[index]!, signable);
      if (changed !== undefined) told.push(changed);
      told.push(...(await this.beside.unseen(seen, beside, signable)));
    }
    return told;
  }

  private async one(
    signable: Signable,
    asked: { readonly meaning: Meaning; readonly step: ReleaseStep | undefined },
    person: string,
    candidates: readonly Candidate[],
  ) {
    const { meaning } = asked;
    const { step, steps, units } = await this.unitsOf(signable, asked);
    const conditions = await this.conditions(signable, meaning);
    const act = actToSign(meaning, signable.subject.kind, step ?? undefined);
    const situation = await situationOf(this.store.read, signable, act);
    const me = candidates.find(({ code }) => code === person);
    const authority = me && authorityFor(act, me, situation.doers, situation.taken);
    const may = (candidate: Candidate) => authorityFor(act, candidate, situation.doers, situation.taken).may;
    return {
      signable,
      act,
      step,
      steps,
      why: this.whyNot(situation, authority, person, units) ?? lapsedText(conditions),
      units,
      conditions,
      earlier: situation.earlier.map((statement) => ({ says: signedText(statement), reason: statement.reason })),
      changes: await this.changes(signable),
      beside: await this.beside.of(signable, meaning),
      parts: signable.assessed ? partTexts(partsBy(signable.assessed.facts, person)) : null,
      rulesOut: rulesOut(act, situation, candidates, person),
      who: candidates.filter(may).map(({ code }) => code),
    };
  }

  private whyNot(
    situation: Situation,
    authority: Authority | undefined,
    person: string,
    units: BeforeSigning['units'],
  ): string | null {
    const { signable } = situation;
    if (signable.refused !== undefined) return objectionText(signable.refused);
    if (authority === undefined) return objectionText({ code: 'no open account' });
    if (!authority.may) return denialText(authority.why);
    if (isSignedBy(person, situation)) return objectionText({ code: 'signed already' });
    const objection = orderObjection(situation, person);
    const why = objection && objectionText(objection);
    if (why !== undefined || units === null || units.some((unit) => unit.why === null)) return why ?? null;
    return units.map((unit) => unit.why).join('; ') || objectionText({ code: 'no units' });
  }

  /** Units of a lot file, each with why it cannot be decided on so; null for every other thing and meaning. */
  private async unitsOf(
    { assessed, subject }: Signable,
    { meaning, step: wanted }: { readonly meaning: Meaning; readonly step: ReleaseStep | undefined },
  ): Promise<Pick<BeforeSigning, 'step' | 'steps' | 'units'>> {
    if (!assessed || (meaning !== 'released' && meaning !== 'rejected')) return { step: null, steps: [], units: null };
    const { assessment, facts } = assessed;
    const serials = assessment.units.map(({ serial }) => serial);
    const states = await unitStatesOf(this.store.read, subject.key, serials);
    const unitsFor = (step: ReleaseStep | null) =>
      assessment.units.map(({ serial, verdict }) => {
        const decided = { lot: facts.lot.body, assessment, states, meaning, step };
        const objection = unitObjection({ ...decided, units: [serial] });
        const finding = objection?.code === 'held back' ? objection.facts.why.finding : null;
        return { serial, verdict, why: objection ? objectionText(objection) : null, finding };
      });
    if (meaning === 'rejected') return { step: null, steps: [], units: unitsFor(null) };
    const steps = stepsAsked(assessment.units.flatMap(({ gates }) => gates));
    const open = steps.find((step) => unitsFor(step).some(({ why }) => why === null));
    const step = wanted ?? open ?? steps[0]!;
    return { step, steps, units: unitsFor(step) };
  }

  private async conditions({ assessed }: Signable, meaning: Meaning): Promise<Condition[] | null> {
    if (!assessed || meaning !== 'released') return null;
    const { clock, folder, read } = this.store;
    const units = assessed.facts.lot.body.implants.map(({ serial }) => serial);
    const asked = { facts: assessed.facts, units, day: localDay(stamp(clock)), now: clock.now(), demo: folder.demo };
    return releaseConditions(read, asked);
  }

  private async candidates(): Promise<Candidate[]> {
    const day = localDay(stamp(this.store.clock));
    return candidatesOn(this.store.read, await this.accounts.people(), day);
  }

  /** What differs from what was signed last: the lot file that was reviewed or decided on, the revision approved before. */
  private async changes(signable: Signable): Promise<string[]> {
    const { subject, assessed } = signable;
    const signed = (await this.store.read.signatures.of({ kind: subject.kind, key: subject.key })).map(
      ({ signed: one }) => one.statement,
    );
    if (assessed) return this.lotChanges(signed, subject, assessed);
    const last = signed
      .flatMap((one) => one.subjects.filter(({ key }) => key === subject.key))
      .filter(({ digest }) => digest !== subject.digest)
      .at(-1);
    if (!last) return [];
    if (subject.revision === null || last.revision === null) return [SIGNED_CHANGED];
    const before = await this.store.read.entries.revision(subject.kind, subject.key, last.revision);
    const after = await this.store.read.entries.revision(subject.kind, subject.key, subject.revision);
    const found = before && after ? firstChange(before.body, after.body) : undefined;
    return found ? [firstChangeText(last.revision, found)] : [];
  }

  /** Of a lot file: its facts, and the verdicts that lay beside it when it was signed in another state or on other ones. */
  private async lotChanges(signed: readonly Statement[], now: SignedSubject, assessed: AssessedLot): Promise<string[]> {
    const last = signed
      .map((one) => ({ lotFile: soleSubject(one).digest, assessment: assessmentBeside(one) }))
      .filter(({ lotFile, assessment }) => lotFile !== now.digest || assessment !== assessed.assessmentSha256)
      .at(-1);
    if (!last) return [];
    const changes = [
      ...(await differencesSince(this.store.read, last.lotFile, assessed.facts)).map(({ what }) =>
        differenceText(what),
      ),
      ...(await this.verdictChanges(last.assessment, assessed)),
    ];
    return changes.length > 0 || last.lotFile !== now.digest ? changes : [ASSESSED_SINCE];
  }

  private async verdictChanges(last: string | undefined, { assessment }: AssessedLot): Promise<string[]> {
    const changes = last === undefined ? undefined : await verdictsSince(this.store.read, last, assessment);
    return changes ?? [SIGNED_ASSESSMENT_GONE];
  }
}

/** The count of a year is of all units of the lot here; the act counts those that it names. */
function lapsedText(conditions: readonly Condition[] | null): string | null {
  const lapsed = (conditions ?? []).find(
    ({ state, condition }) => state === 'does not hold' && condition !== 'yearly count exceeded',
  );
  return lapsed ? objectionText({ code: 'condition', facts: lapsed }) : null;
}

const assessmentBeside = ({ beside }: Statement): string | undefined =>
  beside.find(({ kind }) => kind === 'assessment')?.digest;

/** Acts for which this signature makes the person dependent, with who could still do them. */
function rulesOut(
  act: Act,
  situation: Situation,
  candidates: readonly Candidate[],
  person: string,
): BeforeSigning['rulesOut'] {
  return Signing.rulesOut(act, situation.signable.subject.kind).map((name) => {
    const other = ACTS.find((one) => one.act === name)!;
    const still = candidates.filter(
      (candidate) => candidate.code !== person && authorityFor(other, candidate, situation.doers).may,
    );
    return { act: name, stillMay: still.map(({ code }) => code) };
  });
}

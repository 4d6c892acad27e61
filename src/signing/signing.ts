import { Injectable } from '@nestjs/common';
import { AppError, BadInputError } from '../base/errors.js';
import { localDay } from '../base/stamp.js';
import { canonicalJson, digestOf, sha256Hex } from '../dossier/canonical.js';
import { RELEASE_STEPS, type ReleaseStep } from '../dossier/release-step.js';
import type { ActingRole } from '../dossier/statement.js';
import { kindInSet, type Meaning, type SignedStatement, type Statement } from '../dossier/statement.js';
import { COURSE, courseDigest, courseOfLot } from '../ledger/course-of-lot.js';
import { currentOf, recoveredBy } from '../ledger/person-keys.js';
import { keyHasGone } from '../ledger/signed-acts.js';
import { releasedForCase, unitStatesOf } from '../lots/unit-decisions.js';
import { ACTS, type Act, actOf } from '../people/acts.js';
import { authorityFor } from '../people/authority.js';
import type { Pen } from '../people/own-key.js';
import { Proof } from '../people/proof.js';
import { givenReason, SAY_WHY } from '../people/reason.js';
import { actNameText } from '../report/phrases/acts.js';
import { denialText, type IndependenceRule } from '../report/phrases/authority.js';
import { decisionOutcomeText, meaningText, roleText } from '../report/phrases/codes.js';
import { kindText } from '../report/phrases/kinds.js';
import { type Objection, objectionText } from '../report/phrases/objections.js';
import { releaseStepText } from '../report/phrases/release-steps.js';
import type { CaseUnit } from '../store/entries.js';
import type { Change, Reads } from '../store/repositories.js';
import { Store } from '../store/store.js';
import { recordAct } from './act-entry.js';
import { BesideSigning, seenText } from './beside.js';
import { isSignedBy, orderObjection } from './order.js';
import { type Condition, notHeld, releaseConditions } from './release-conditions.js';
import type { Signable } from './signable.js';
import { candidateOn, type Situation, situationOf } from './situation.js';
import { Subjects } from './subjects.js';
import type { Thing } from './thing.js';
import { caseObjection, unitObjection } from './unit-objection.js';

export interface SignRequest {
  readonly things: readonly Thing[];
  readonly meaning: Meaning;
  /** Serials, for releases and rejections. */
  readonly units?: readonly string[];
  /** What a release is for. */
  readonly step?: ReleaseStep | undefined;
  /** For decisions. */
  readonly outcome?: 'accepted' | 'rejected' | undefined;
  /** Rationale of a decision, reason of a rejection, and of a release that gives a case more than one implant. */
  readonly reason?: string | undefined;
  /** What they saw beside the thing, as its page named it; absent where nothing was shown. */
  readonly seen?: string | undefined;
}

interface Refusal {
  readonly act: Act;
  readonly signable: Signable;
  readonly why: string;
}

const ATTEMPTS = 5;
/**
 * Signatures: who may, in what order, on exactly what. Everything that decides is read inside the change that stores the
 * signature, so that two people cannot both be first.
 */
@Injectable()
export class Signing {
  constructor(
    private readonly store: Store,
    private readonly subjects: Subjects,
    private readonly besideSigning: BesideSigning,
  ) {}

  /**
   * One act: a listed set of things of one kind, one lot and one case, one meaning, one rationale, one proof of identity. It
   * gives one statement, which names each of them by its digest; all are signed or none.
   * @param proof that the person has just shown who they are; it serves once.
   * @throws AppError REFUSED when the person may not, or the order does not allow it: that becomes an entry of the audit
   * trail; CONFLICT when a thing, or what lay beside it, has changed since; ALTERED when something that befell the lot was
   * taken away from outside; BadInputError for a request that makes no sense.
   */
  sign(proof: Proof, request: SignRequest): Promise<SignedStatement> {
    return Proof.signing(proof, (pen) => this.signWith(pen, proof.actor, request));
  }

  private async signWith(pen: Pen, actor: string, request: SignRequest): Promise<SignedStatement> {
    checkRequest(request);
    for (let attempt = 1; ; attempt++) {
      const size = await this.store.read.ledger.size();
      const found = await this.subjects.readAll(request.things, actor);
      const signables = inOrder(found);
      checkOneSet(signables);
      checkOutcome(signables, request.outcome);
      checkWhy(signables, request);
      const { kind, key } = signables[0]!.subject;
      if (kind === 'lot file') await this.store.whole.demandLot(key);
      const beside = await this.asSeen(signables[0]!, request);
      const done = await this.store.change(actor, async (change) => {
        // What others wrote meanwhile counts where it changes what is signed, or what lies beside it: then all is compared anew
        // with what the person saw.
        const isSettled = change.ledger.sizeNow() === size || (await this.isStill(request, found, beside));
        return isSettled ? this.signAll(change, pen, request, signables, beside) : undefined;
      });
      if (done === undefined) {
        if (attempt < ATTEMPTS) continue;
        throw new AppError('BUSY', 'what you sign kept changing meanwhile; nothing was signed, try again');
      }
      if ('refused' in done) throw refusal(done.refused);
      return done.signed;
    }
  }

  /** @param found what was read of the things of the request, in their order. */
  private async isStill(
    { things, meaning }: SignRequest,
    found: readonly Signable[],
    beside: Statement['beside'],
  ): Promise<boolean> {
    if (!(await this.subjects.areStill(things, found))) return false;
    const now = await this.besideSigning.of(inOrder(found)[0]!, meaning);
    return digestOf(now.named) === digestOf(beside);
  }

  /**
   * What lies beside what is signed.
   * @throws AppError CONFLICT when the person saw something else.
   */
  private async asSeen(signable: Signable, { meaning, seen }: SignRequest): Promise<Statement['beside']> {
    const beside = await this.besideSigning.of(signable, meaning);
    const unseen = seen === undefined ? [] : await this.besideSigning.unseen(seen, beside, signable);
    if (unseen.length > 0) throw new AppError('CONFLICT', unseen.join('\n'), { seen: seenText(beside) });
    return [...beside.named];
  }

  private async signAll(
    change: Change,
    pen: Pen,
    request: SignRequest,
    signables: readonly Signable[],
    beside: Statement['beside'],
  ): Promise<{ signed: SignedStatement } | { refused: Refusal }> {
    const { utc, offset } = await change.events.timeToSign();
    const { keys } = (await change.events.knownKeys()).people;
    const own = currentOf(keys, pen.person);
    if (own?.fingerprint !== pen.fingerprint) throw keyHasGone();
    const candidate = await candidateOn(change, pen.person, localDay({ utc, offset }));
    const act = actOf(request.meaning, signables[0]!.subject.kind, request.step)!;
    const roles: ActingRole[] = [];
    const conditions = await this.conditions(change, request, signables[0]!, localDay({ utc, offset }));
    for (const signable of signables) {
      const situation = await situationOf(change, signable, act);
      const authority = authorityFor(act, candidate, situation.doers, situation.taken);
      if (authority.may && isSignedBy(pen.person, situation)) {
        throw new AppError('CONFLICT', `${signable.title}: ${objectionText({ code: 'signed already' })}`);
      }
      const objects = authority.may ? await objection(change, situation, pen.person, request, conditions) : undefined;
      const why = authority.may ? objects && objectionText(objects) : denialText(authority.why);
      if (why !== undefined || !authority.may) {
        const refused = { act, signable, why: why ?? '' };
        await change.events.add({
          type: 'act-refused',
          act: act.act,
          subject: { kind: signable.subject.kind, key: signable.subject.key },
          lot: signable.lot,
          person: pen.person,
          why: refused.why,
        });
        return { refused };
      }
      roles.push(authority.as);
    }
    const { role, deputyFor } = oneRole(roles);
    const signed = this.seal(pen, {
      format: 1,
      meaning: request.meaning,
      subjects: signables.map(({ subject }) => subject),
      beside: [...beside, ...(await courseBefore(change, signables[0]!))],
      units: [...(request.units ?? [])].sort(),
      step: request.step ?? null,
      outcome: request.outcome ?? null,
      reason: request.reason?.trim() || null,
      person: {
        code: pen.person,
        name: pen.name,
        role,
        deputyFor,
        key: pen.fingerprint,
        recoveredBy: recoveredBy(own),
      },
      at: utc,
      offset,
      installation: this.store.key.fingerprint,
      demo: this.store.folder.demo,
    });
    await change.signatures.add(signed);
    const [units, step] = [signed.statement.units, request.step];
    if (conditions.length > 0 && step !== undefined) {
      await change.events.add({
        type: 'release-conditions',
        lot: signables[0]!.subject.key,
        units,
        step,
        conditions: conditions.map(({ condition, facts }) => ({ condition, facts: { ...facts } })),
      });
    }
    await recordAct(change, signed, signables);
    return { signed };
  }

  /** What has to hold on the day; nothing for whatever is no release. */
  private async conditions(
    read: Reads,
    { meaning, units = [] }: SignRequest,
    { assessed }: Signable,
    day: string,
  ): Promise<Condition[]> {
    if (meaning !== 'released' || assessed === undefined) return [];
    const { facts } = assessed;
    return releaseConditions(read, { facts, units, day, now: this.store.clock.now(), demo: this.store.folder.demo });
  }

  /** By the person, and by the installation. */
  private seal(pen: Pen, statement: Statement): SignedStatement {
    const text = canonicalJson(statement);
    const signature = this.store.key.sign(text).toString('base64');
    return { statement, digest: sha256Hex(text), personSignature: pen.sign(text), signature };
  }

  /** Acts that this signature on such a thing would rule the person out from, in words, for the page before signing. */
  static rulesOut(act: Act, kind: string): string[] {
    const rules = RULED_BY[act.act] ?? [];
    // Whoever wrote a document is barred from approving that one, and no document of another kind.
    const holds = (other: Act) => (rule: IndependenceRule) =>
      rules.includes(rule) && (rule !== 'author' || other.kinds.includes(kind));
    return ACTS.filter((other) => other.independence.some(holds(other))).map(({ act: name }) => name);
  }
}

/** What had befallen a lot whose file is signed, as the change sees it. */
async function courseBefore({ signatures, events }: Change, { subject }: Signable): Promise<Statement['beside']> {
  if (subject.kind !== 'lot file') return [];
  const { key } = subject;
  const course = courseOfLot(await signatures.of({ kind: subject.kind, key }), await events.of({ kind: 'lot', key }));
  return [{ kind: COURSE, digest: courseDigest(course) }];
}

/** Which independence rule a person breaks for others' acts by having performed an act. */
const RULED_BY: Readonly<Record<string, readonly IndependenceRule[]>> = {
  'sign a document as its author': ['author'],
  'sign results as performed': ['tester'],
  'decide a finding': ['decider'],
  'decide a disposition': ['decider'],
  'decide an impact': ['decider'],
  'decide a build at risk': ['decider'],
  'review a lot': ['reviewer'],
};

function refusal({ act, signable, why }: Refusal): AppError {
  return new AppError('REFUSED', `you may not ${actNameText(act.act)} (${signable.title}): ${why}`, {
    act: act.act,
    why,
  });
}

/** @throws BadInputError when nobody signs such a thing with this meaning. */
export function actToSign(meaning: Meaning, kind: string, step?: ReleaseStep): Act {
  const act = actOf(meaning, kind, step);
  if (act) return act;
  const expected = 'a meaning that such a thing is signed with';
  throw problem('meaning', `${meaningText(meaning)} for a ${kindText(kind)}`, expected, 'see the table of authority');
}

const problem = (field: string, found: string, expected: string, remedy: string) =>
  new BadInputError([{ code: 'sign', field, found, expected, remedy }]);

function checkRequest({ things, meaning, units, step, outcome, reason }: SignRequest): void {
  if (things.length === 0) throw problem('thing', 'nothing', 'at least one thing to sign', 'name what you sign');
  for (const { kind } of things) actToSign(meaning, kind);
  if ((meaning === 'released' || meaning === 'rejected') && !units?.length) {
    throw problem('units', 'none', 'serials of the units', 'name each unit that you decide on');
  }
  if (meaning === 'released' && step === undefined) {
    const steps = RELEASE_STEPS.map(releaseStepText).join(' or ');
    throw problem('step', 'nothing', steps, 'say what you release for');
  }
  if (meaning !== 'released' && step !== undefined) {
    const remedy = 'leave the step out, or sign as released';
    throw problem('step', releaseStepText(step), 'none: only a release names one', remedy);
  }
  if (meaning === 'decided' && outcome === undefined) {
    throw problem('outcome', 'nothing', 'accepted or rejected', 'say what you decide');
  }
  if ((meaning === 'decided' || meaning === 'rejected') && !reason?.trim()) {
    throw problem('reason', 'nothing', 'a rationale', SAY_WHY);
  }
  if (reason?.trim()) givenReason(reason);
}

const inOrder = (signables: readonly Signable[]): Signable[] =>
  [...signables].sort(({ subject: a }, { subject: b }) => (textOf(a) < textOf(b) ? -1 : 1));

const textOf = ({ key, digest }: Signable['subject']): string => `${key} ${digest}`;

/** @throws BadInputError for what cannot be one act: other kinds, lots or cases, or the same thing twice. */
function checkOneSet(signables: readonly Signable[]): void {
  const differ = (what: string, values: readonly (string | null)[]) => {
    const several = [...new Set(values)].sort();
    if (several.length > 1) {
      const found = several.map((value) => value ?? `no ${what}`).join(', ');
      throw problem('thing', `things of ${found}`, `things of one ${what}`, 'sign them apart, each with its password');
    }
  };
  differ(
    'kind',
    signables.map(({ subject }) => kindText(kindInSet(subject.kind))),
  );
  differ(
    'lot',
    signables.map(({ lot }) => lot),
  );
  differ(
    'case',
    signables.map(({ ofCase }) => ofCase ?? null),
  );
  const twice = signables.find(({ subject }, index) => signables[index - 1]?.subject.digest === subject.digest);
  if (twice) throw problem('thing', `${twice.title} twice`, 'each thing once', 'name it once');
}

/** @throws BadInputError when others' signatures leave the person another role for one thing than for another. */
function oneRole(roles: readonly ActingRole[]): ActingRole {
  const [first] = roles;
  const other = roles.find(({ role, deputyFor }) => role !== first!.role || deputyFor !== first!.deputyFor);
  if (!other) return first!;
  const found = `you would act as ${roleText(first!.role)} for some and as ${roleText(other.role)} for others`;
  throw problem('thing', found, 'things that you sign in one role', 'sign them apart, each with its password');
}

/** Why the order of things forbids this signature now, or undefined. */
async function objection(
  change: Change,
  situation: Situation,
  person: string,
  { meaning, step, units = [], reason }: SignRequest,
  conditions: readonly Condition[],
): Promise<Objection | undefined> {
  const why = orderObjection(situation, person);
  if (why !== undefined) return why;
  const { signable } = situation;
  if (signable.assessed === undefined || units.length === 0) return undefined;
  const { assessment, facts } = signable.assessed;
  const lot = facts.lot.body;
  const serials = lot.implants.map(({ serial }) => serial);
  const states = await unitStatesOf(change, lot.lot, serials);
  const objects = unitObjection({ lot, assessment, states, meaning, step: step ?? null, units });
  if (objects !== undefined || meaning !== 'released') return objects;
  const cases = new Set(lot.implants.filter(({ serial }) => units.includes(serial)).map((implant) => implant.case));
  const releasedFor = new Map<string, CaseUnit[]>();
  for (const code of cases) releasedFor.set(code, await releasedForCase(change, code));
  const lapsed = notHeld(conditions);
  return caseObjection({ lot, units, releasedFor, reason }) ?? (lapsed && { code: 'condition', facts: lapsed });
}

/** @throws BadInputError for a review without a reason of something that asks for one. */
function checkWhy(signables: readonly Signable[], { meaning, reason }: SignRequest): void {
  const asks = signables.flatMap(({ asksWhy = [] }) => asksWhy);
  if (meaning !== 'reviewed' || asks.length === 0 || reason?.trim()) return;
  throw problem('reason', 'nothing', `a reason, which this asks for: ${asks.join(' ')}`, SAY_WHY);
}

/** @throws BadInputError for a decision that one of the findings does not allow. */
function checkOutcome(signables: readonly Signable[], outcome: SignRequest['outcome']): void {
  const none = signables.find(({ outcomes }) => outcome !== undefined && outcomes && !outcomes.includes(outcome));
  if (!none) return;
  const remedy = 'its units do not conform, whatever is decided; reject them, or decide the others apart';
  throw problem(
    'outcome',
    `${decisionOutcomeText(outcome!)} for ${none.title}`,
    none.outcomes!.join(' or ') || 'no decision',
    remedy,
  );
}

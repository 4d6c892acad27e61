import { Body, Controller, Get, Header, Param, Query } from '@nestjs/common';
import { AppError, NotFoundError } from '../base/errors.js';
import { digestOf } from '../dossier/canonical.js';
import type { Meaning } from '../dossier/statement.js';
import { timeText } from '../dossier/time-text.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { LotAssessor } from '../lots/lot-assessor.js';
import { unitStatesOf } from '../lots/unit-decisions.js';
import { Accounts } from '../people/accounts.js';
import { Actor } from '../people/actor.js';
import { ACTS } from '../people/acts.js';
import { lotSummaryView } from '../report/lot-summary-view.js';
import { lotAddress } from '../report/page-addresses.js';
import { INDEPENDENCE, ORDER } from '../report/phrases/authority.js';
import { capital } from '../report/phrases/capital.js';
import { FORM_LABELS } from '../report/phrases/form-labels.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { conditionStateText, conditionText } from '../report/phrases/release-conditions.js';
import { releaseStepText, signedAsText } from '../report/phrases/release-steps.js';
import { reviewLine } from '../report/phrases/review-items.js';
import { OUTCOME_MEANINGS } from '../report/phrases/sign-page.js';
import { Store } from '../store/store.js';
import { Access, NoCases } from '../web/access.js';
import type { FailedForm } from '../web/form-again.js';
import type { FormAnswer } from '../web/form-answer.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { asked, filledIn, NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { type BeforeSigning, SigningPreview } from './before-signing.js';
import { seenText } from './beside.js';
import { nonconformityFrom } from './finding-subjects.js';
import { signAddress } from './sign-address.js';
import { FreezeRequest, SignQuery, SignRequest, TypedSignature } from './sign-requests.js';
import type { Outcome } from './signable.js';
import { actToSign, Signing } from './signing.js';
import { isFinding, type Thing, thingFrom, thingText } from './thing.js';

/** Beyond this many, things stand by their titles in the form alone. */
const MOST_SHOWN_IN_FULL = 5;

const OUTCOMES: readonly { readonly outcome: Outcome; readonly says: string }[] = [
  { outcome: 'accepted', says: OUTCOME_MEANINGS.accepted },
  { outcome: 'rejected', says: OUTCOME_MEANINGS.rejected },
];

const LABELS = {
  things: FORM_LABELS.things,
  units: FORM_LABELS.units,
  outcome: FORM_LABELS.outcome,
  reason: FORM_LABELS.reason,
  password: FORM_LABELS.password,
};

/** One page on which every signature is given, and one that says who may give which. */
@Controller()
export class SignController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly preview: SigningPreview,
    private readonly signing: Signing,
    private readonly current: CurrentAssessments,
    private readonly assessor: LotAssessor,
    private readonly accounts: Accounts,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get('sign')
  @Header(...HTML)
  async show(
    @Query(asked(SignQuery, 'follow a link from the first page or from a lot')) { thing, meaning, step }: SignQuery,
  ): Promise<string> {
    const things = thing.map(thingFrom);
    return (await this.beforeAssessment(things, meaning)) ?? this.page(things, meaning, { ...NOTHING_TYPED, step });
  }

  /** Looking stores nothing, so a lot file that is out of date is frozen and assessed by an act of its own. */
  @Access('signed in')
  @FormPost('sign/lots/:lot')
  async freeze(
    @Param('lot', NAMED) lot: string,
    @Body(filledIn(FreezeRequest)) { meaning }: FreezeRequest,
  ): Promise<string> {
    await this.assessor.freeze(lot, this.actor.name);
    return signAddress([{ kind: 'lot file', key: lot, revision: null, digest: null }], meaning)!;
  }

  @Access('signed in')
  @FormPost('sign', {
    typed: TypedSignature,
    show: (controller: SignController, failed) => controller.again(failed),
  })
  async sign(@Body(filledIn(SignRequest)) { things, password, seen = '', ...rest }: SignRequest): Promise<string> {
    const proof = await this.accounts.prove(this.actor.person, password);
    const { digest } = await this.signing.sign(proof, { ...rest, seen, things: things.map(thingFrom) });
    return `/signed/${digest}`;
  }

  /** What was signed, for whoever has just done it and for whoever sends the form again. */
  @Access('signed in')
  @Get('signed/:digest')
  @Header(...HTML)
  async signed(@Param('digest', NAMED) digest: string): Promise<string> {
    const statement = await this.store.read.signatures.statement(digest);
    if (!statement) throw new NotFoundError('statement', digest);
    return this.pages.render('signed', PAGE_TITLES.signed, {
      statement,
      digest,
      at: timeText(statement.at),
      back: backOf(statement.subjects),
    });
  }

  @Access('signed in')
  @NoCases()
  @Get('authority')
  @Header(...HTML)
  authority(): string {
    return this.pages.render('authority', PAGE_TITLES.authority, {
      acts: ACTS.map((act) => ({
        ...act,
        independence: act.independence.map((rule) => INDEPENDENCE[rule]),
        order: act.order.map((rule) => ORDER[rule]),
      })),
    });
  }

  private async again({ typed, error }: FailedForm<TypedSignature>): Promise<FormAnswer> {
    const things = typed.things.map(thingFrom);
    const page = await this.page(things, typed.meaning, typed, error);
    return { to: signAddress(things, typed.meaning) ?? backOf(things).href, page };
  }

  /** The page of a lot file that was never assessed; undefined for everything else. */
  private async beforeAssessment([thing]: readonly Thing[], meaning: Meaning): Promise<string | undefined> {
    if (thing?.kind !== 'lot file') return undefined;
    actToSign(meaning, thing.kind);
    if (await this.current.assessmentOf(thing.key)) return undefined;
    await this.store.read.entries.currentOrThrow('lot', thing.key);
    return this.pages.render('sign-not-assessed', PAGE_TITLES.signAs({ meaning, step: null }), {
      meaning,
      lot: thing.key,
      back: backOf([thing]),
    });
  }

  /** Why nothing was signed, and whatever is no longer as it was sent: a wrong password must not hide that. */
  private async errorsOf(
    error: unknown,
    things: readonly Thing[],
    seen: string,
    now: readonly BeforeSigning[],
  ): Promise<FormError[]> {
    const errors = formErrors(error, LABELS);
    const changed = await this.preview.changedSince(things, seen, now);
    const told = changed.map((text) => ({ field: null, says: capital(text) }));
    const isToldSo = told.length > 0 && error instanceof AppError && error.code === 'CONFLICT';
    return isToldSo ? told : [...errors, ...told];
  }

  /** What is shown of a lot above the signature: the same as on its own page; null for everything else. */
  private async summaryView({ beside: { summary }, signable: { assessed, subject } }: BeforeSigning) {
    if (summary === null || !assessed) return null;
    const serials = summary.units.map(({ serial }) => serial);
    const states = await unitStatesOf(this.store.read, subject.key, serials);
    return { ...lotSummaryView(assessed, states, summary), digest: digestOf(summary) };
  }

  private async page(
    things: readonly Thing[],
    meaning: Meaning,
    typed: Omit<TypedSignature, 'things' | 'meaning'>,
    error?: unknown,
  ): Promise<string> {
    // What the form was sent with may be out of date: the page shows what is there now, and says so.
    const current =
      error === undefined
        ? things
        : things.map((thing) => ({ ...thing, digest: isFinding(thing) ? thing.digest : null }));
    const seen = await this.preview.all(current, meaning, this.actor.person, typed.step);
    const errors = error === undefined ? [] : await this.errorsOf(error, things, typed.seen, seen);
    const [first] = seen;
    return this.pages.render('sign', PAGE_TITLES.signAs({ meaning, step: first!.step }), {
      meaning,
      seen,
      inFull: seen.slice(0, MOST_SHOWN_IN_FULL).map((one) => ({ ...one, open: nonconformityFrom(one.signable) })),
      things: seen.map(({ signable }) => ({
        name: thingText(withKey(signable.subject)),
        title: signable.title,
        page: signable.page,
      })),
      back: backOf(things),
      errors,
      why: seen.find((one) => one.why !== null)?.why ?? null,
      // There is one lot file in an act at most.
      lot: first!.signable.lot,
      beside: seenText(first!.beside),
      outOfDate: first!.signable.outOfDate ?? null,
      changes: seen.flatMap(({ changes }) => changes),
      summary: await this.summaryView(first!),
      reviewList: first!.beside.reviewList.map(reviewLine),
      rulesOut: first!.rulesOut,
      parts: first!.parts,
      conditions:
        first!.conditions?.map((one) => ({ says: conditionText(one), state: conditionStateText(one.state) })) ?? null,
      step: first!.step,
      signsAs: signedAsText({ meaning, step: first!.step }),
      otherSteps: first!.steps
        .filter((step) => step !== first!.step)
        .map((step) => ({ says: releaseStepText(step), href: `${signAddress(current, meaning)}&step=${step}` })),
      // Nothing is chosen for the person: releasing is an act, not a default.
      units: first!.units?.map((unit) => ({ ...unit, checked: typed.units.includes(unit.serial) })) ?? null,
      outcomes:
        meaning === 'decided'
          ? OUTCOMES.filter(({ outcome }) => seen.every(({ signable }) => signable.outcomes?.includes(outcome)))
          : null,
      needsReason:
        meaning === 'decided' ||
        meaning === 'rejected' ||
        (meaning === 'reviewed' && seen.some(({ signable }) => (signable.asksWhy ?? []).length > 0)),
      mayHaveReason: meaning === 'released',
      outcome: typed.outcome,
      reason: typed.reason,
    });
  }
}

const NOTHING_TYPED = { units: [], step: undefined, outcome: '', reason: '', seen: '' };

const withKey = ({ kind, key, revision, digest }: Thing & { digest: string }): Thing => ({
  kind,
  key,
  revision,
  digest,
});

function backOf(things: readonly Pick<Thing, 'kind' | 'key'>[]): { href: string; text: string } {
  const lot = things[0]?.kind === 'lot file' ? things[0].key : undefined;
  return lot === undefined
    ? { href: '/', text: PAGE_TITLES.today }
    : { href: lotAddress(lot), text: PAGE_TITLES.lot(lot) };
}

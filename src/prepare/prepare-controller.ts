import { isDeepStrictEqual } from 'node:util';
import { Body, Controller, Get, Header, Param, StreamableFile } from '@nestjs/common';
import { z } from 'zod';
import { SiteZone, stamp } from '../base/clock.js';
import { AppError, BadInputError, type Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { localDay } from '../base/stamp.js';
import { EntryForms } from '../entry/entry-forms.js';
import { KnownCodes } from '../entry/known-codes.js';
import { asRead, fieldsOf, momentsRead, type TypedFields } from '../entry/typed-fields.js';
import { type Sender, whyNotTakeIn } from '../intake/may-take-in.js';
import type { Lot } from '../kinds/lot.js';
import { ShownRanges } from '../lots/ranges/shown-ranges.js';
import { Actor } from '../people/actor.js';
import { Drafts } from '../people/drafts.js';
import { rangesAddress } from '../report/page-addresses.js';
import { ENTRY_FORMS } from '../report/phrases/entry-forms.js';
import { PREPARE_REFUSALS } from '../report/phrases/prepare-refusals.js';
import { PREPARE_STEPS } from '../report/phrases/prepare-steps.js';
import { Store } from '../store/store.js';
import { Access, KeepsDraft } from '../web/access.js';
import { attachment } from '../web/disposition.js';
import type { FormAnswer } from '../web/form-answer.js';
import type { FormError } from '../web/form-errors.js';
import { PagePost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn, NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { TakesFiles } from '../web/upload.js';
import { basisFor } from './basis.js';
import { LotPreparer } from './lot-preparer.js';
import { plannedDocument } from './lot-text.js';
import type { Names, PreparedLot } from './prepared-lot.js';
import { gasStock, powderStock } from './stock.js';

const STEPS = ['parts', 'stock', 'times'] as const;
const Step = z.enum(STEPS);
type Step = z.infer<typeof Step>;

const POWDER = 'builds[0].powder[0].state';
const CHARGED = 'builds[0].powder[0].chargedG';
const GAS = 'builds[0].gas[0].receipt';
/** Fields that a step shows; all others go with its form unseen, so that a draft is always whole. */
const SHOWN: Readonly<Record<Step, readonly string[]>> = {
  parts: [],
  stock: [POWDER, CHARGED, GAS],
  times: ['opened.by', 'builds[0].operator', 'builds[0].closedAt', 'builds[0].openedAt'],
};

const Typed = z.record(z.string().max(400), z.string().max(MOST.uploadFieldBytes));
type Typed = z.infer<typeof Typed>;
const FIELDS = { field: 'fields', mostBytes: 4 * MOST.bodyBytes, mostFields: MOST.formFields };
const MOST_CASES = 30;
const MOST_LOOKED_AT = 200;

/** A lot planned for a case in three short steps. It is a draft of the form of lots, filled in from case, recipe and plan. */
@Controller('prepare')
export class PrepareController {
  private readonly zone: SiteZone;

  constructor(
    private readonly pages: Pages,
    private readonly preparer: LotPreparer,
    private readonly forms: EntryForms,
    private readonly drafts: Drafts,
    private readonly known: KnownCodes,
    private readonly store: Store,
    private readonly actor: Actor,
    private readonly ranges: ShownRanges,
  ) {
    this.zone = new SiteZone(store.clock);
  }

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async cases(): Promise<string> {
    const { read } = this.store;
    const open = (await read.entries.list('case')).filter(({ body }) => (body.status?.is ?? 'open') === 'open');
    // Those that came last are built next, and those that have an implant mostly need no other.
    const found: { code: string; neededBy: string | undefined; made: readonly string[] }[] = [];
    for (const { key: code, body } of open.slice(-MOST_LOOKED_AT)) {
      const made = (await read.entries.unitsOfCase(code)).map(({ serial }) => serial);
      found.push({ code, neededBy: body.neededBy, made });
    }
    const listed = found.sort((a, b) => a.made.length - b.made.length).slice(0, MOST_CASES);
    const waiting: ((typeof found)[number] & { why: string | undefined })[] = [];
    for (const one of listed) waiting.push({ ...one, why: await this.whyNotBuilt(one.code) });
    // A case that has its implant, and of which no other can be planned, waits for nothing.
    const shown = waiting
      .filter(({ why, made }) => why === undefined || made.length === 0)
      .sort((a, b) => Number(a.why !== undefined) - Number(b.why !== undefined));
    return this.pages.render('prepare', PREPARE_STEPS.cases, {
      why: whyNotTakeIn(this.actor.session),
      waiting: shown,
    });
  }

  private async whyNotBuilt(code: string): Promise<string | undefined> {
    try {
      await basisFor(this.store.read, code, this.store.clock.now().toISOString());
      return undefined;
    } catch (error) {
      if (error instanceof AppError) return error.message;
      throw error;
    }
  }

  @Access('signed in')
  @Get('new/:case')
  @Header(...HTML)
  async begin(@Param('case', NAMED) code: string): Promise<string> {
    const lot = await this.preparer.prepared(code);
    const { person } = this.actor;
    const { shape } = this.forms.form('lot');
    const fields = { ...fieldsOf(shape, plannedDocument(lot)), 'opened.by': person };
    return this.page('parts', this.drafts.begin(person, 'lot'), fields, lot);
  }

  /** The same of a lot that is stored as a plan, as long as what it was planned by is still in force. */
  @Access('signed in')
  @Get('lots/:lot/build-sheet')
  async sheetOfLot(@Param('lot', NAMED) code: string): Promise<StreamableFile> {
    const { body } = await this.store.read.entries.currentOrThrow('lot', code);
    const lot = await this.lotOf(fieldsOf(this.forms.form('lot').shape, body));
    if (!isPlannedBy(body, lot)) throw new AppError('CONFLICT', PREPARE_REFUSALS.plannedOtherwise(code));
    return pdfFile(await this.preparer.buildSheet(lot), code);
  }

  /** What is built, to be printed: from what a draft says of the codes. */
  @Access('signed in')
  @Get(':draft/build-sheet')
  async sheet(@Param('draft', NAMED) name: string): Promise<StreamableFile> {
    const { fields } = await this.drafts.of(this.actor.person, name);
    const pdf = await this.preparer.buildSheet(await this.lotOf(fields));
    return pdfFile(pdf, fields.lot!);
  }

  @Access('signed in')
  @Get(':draft/:step')
  @Header(...HTML)
  async show(@Param('draft', NAMED) name: string, @Param('step', { schema: Step }) step: Step): Promise<string> {
    const { fields } = await this.drafts.of(this.actor.person, name);
    return this.page(step, name, fields, await this.lotOf(fields));
  }

  @Access('signed in')
  @KeepsDraft()
  @TakesFiles(FIELDS)
  @PagePost(':draft/:step')
  async take(
    @Param('draft', NAMED) name: string,
    @Param('step', { schema: Step }) step: Step,
    @Body(filledIn(Typed)) typed: Typed,
  ): Promise<FormAnswer> {
    const fields = asRead(this.forms.form('lot').shape, momentsRead(typed, this.zone));
    await this.drafts.keep(name, fields);
    const after = STEPS[STEPS.indexOf(step) + 1];
    const found = await this.problemsOf(name);
    // What later steps ask for is not missing yet.
    const problems = after === undefined ? found : found.filter(({ field = '' }) => SHOWN[step].includes(field));
    if (problems.length === 0)
      return { to: after === undefined ? `/enter/lot/${name}/check` : `/prepare/${name}/${after}` };
    const errors = problems.map((problem) => errorOf(problem, step));
    return {
      to: `/prepare/${name}/${step}`,
      page: await this.page(step, name, fields, await this.lotOf(fields), errors),
    };
  }

  private async problemsOf(name: string): Promise<readonly Problem[]> {
    const { person, acting } = this.actor.session;
    const sender: Sender = { person, acting, actor: this.actor.name };
    try {
      await this.forms.take(await this.drafts.of(person, name), sender, { check: true });
      return [];
    } catch (error) {
      if (error instanceof BadInputError) return error.problems;
      throw error;
    }
  }

  /** Where the case lies beside what its family has shown. */
  private async rangesOf(code: string) {
    const { says, parts, caution, family } = await this.ranges.ofCase(code, false);
    const lines = parts.map(({ title, says: lies }) => PREPARE_STEPS.lies(title, lies));
    return { says, caution, lines, href: rangesAddress(family, code) };
  }

  /** The lot of a draft, with the codes that it was given. */
  private lotOf(fields: TypedFields): Promise<PreparedLot> {
    const names: Names = {
      lot: fields.lot ?? '',
      serial: fields['implants[0].serial'] ?? '',
      build: fields['builds[0].build'] ?? '',
      run: Number(fields['builds[0].run']),
      openedAt: fields['opened.at'] ?? '',
    };
    return this.preparer.prepared(fields['implants[0].case'] ?? '', names);
  }

  private async page(
    step: Step,
    name: string,
    typed: TypedFields,
    lot: PreparedLot,
    errors: readonly FormError[] = [],
  ): Promise<string> {
    const fields = momentsRead(typed, this.zone);
    const today = localDay(stamp(this.store.clock));
    const { basis } = lot;
    const shown = new Set(SHOWN[step]);
    return this.pages.render(
      'prepare-step',
      PREPARE_STEPS.step(STEPS.indexOf(step) + 1, PREPARE_STEPS.titles[step], basis.case.key),
      {
        why: whyNotTakeIn(this.actor.session),
        errors,
        errorTitle: PREPARE_STEPS.notYet,
        step,
        address: `/prepare/${name}/${step}`,
        back: STEPS.slice(0, STEPS.indexOf(step)).map((one) => ({
          title: PREPARE_STEPS.titles[one],
          href: `/prepare/${name}/${one}`,
        })),
        full: `/enter/lot/${name}`,
        sheet: step === 'parts' ? undefined : `/prepare/${name}/build-sheet`,
        unseen: Object.entries(fields).filter(([field]) => !shown.has(field)),
        next: PREPARE_STEPS.next[step],
        basis,
        lot,
        values: PREPARE_STEPS.values(lot.values.length),
        ranges: step === 'parts' ? await this.rangesOf(basis.case.key) : undefined,
        noGas: PREPARE_STEPS.noGas,
        fields: SHOWN[step].map((field) => ({
          name: field,
          label: PREPARE_STEPS.fields[field],
          value: fields[field] ?? '',
          local: /At$/.test(field) ? (this.zone.local(fields[field] ?? '') ?? '') : undefined,
          wrong: errors.filter((error) => error.field === field).map(({ says }) => says),
        })),
        zone: ENTRY_FORMS.clock(this.zone.name),
        powder: step === 'stock' ? await powderStock(this.store.read, today) : [],
        gas: step === 'stock' ? await gasStock(this.store.read, today) : [],
        known: step === 'times' ? await this.known.of([{ id: 'known-person', kinds: ['person'] }], {}) : [],
      },
    );
  }
}

/** What is wrong in an earlier step, or in what was filled in, is told without a link; of a step, with its name. */
function errorOf({ code, field = '', found, expected, remedy }: Problem, here: Step): FormError {
  const step = STEPS.find((one) => SHOWN[one].includes(field));
  const label = PREPARE_STEPS.fields[field] ?? field;
  const name = step === undefined || step === here ? label : PREPARE_STEPS.ofStep(PREPARE_STEPS.titles[step], label);
  const says = code === 'missing-field' ? ENTRY_FORMS.empty(name) : ENTRY_FORMS.wrong(name, found, expected, remedy);
  return { field: step === here ? field : null, says };
}

/** Whether a lot is still what would be planned for its case: by the same recipe and specification, of the same parts. */
const isPlannedBy = ({ specification, implants, coupons }: Lot, lot: PreparedLot): boolean =>
  isDeepStrictEqual(
    [specification, implants.map(({ serial }) => serial)],
    [lot.specification, lot.implants.map(({ serial }) => serial)],
  ) &&
  isDeepStrictEqual(implants[0]?.recipe, lot.implants[0]?.recipe) &&
  isDeepStrictEqual(
    coupons.map(({ coupon }) => coupon),
    lot.coupons.map(({ coupon }) => coupon),
  );

const pdfFile = (bytes: Buffer, lot: string): StreamableFile =>
  new StreamableFile(bytes, {
    type: 'application/pdf',
    disposition: attachment(`build-sheet-${lot}.pdf`),
    length: bytes.length,
  });

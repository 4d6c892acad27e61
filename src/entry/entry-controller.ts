import { Body, Controller, Get, Header, Param, Query } from '@nestjs/common';
import { z } from 'zod';
import type { Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { timeText } from '../dossier/time-text.js';
import type { WouldStore } from '../intake/intake-report.js';
import { KeptReports } from '../intake/kept-reports.js';
import { type Sender, whyNotTakeIn } from '../intake/may-take-in.js';
import { kindNamed } from '../kinds/catalogue.js';
import { Actor } from '../people/actor.js';
import { type Draft, Drafts } from '../people/drafts.js';
import { anchorId } from '../report/anchors.js';
import { ENTRY_FORMS } from '../report/phrases/entry-forms.js';
import { Access, KeepsDraft } from '../web/access.js';
import type { FailedForm } from '../web/form-again.js';
import type { FormAnswer } from '../web/form-answer.js';
import { FormPost, PagePost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn, NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { TakesFiles, type Upload, Uploaded } from '../web/upload.js';
import { chosenFiles, fileField } from './chosen-files.js';
import { entryErrors } from './entry-errors.js';
import { type EntryForm, EntryForms, problemsIn, REVISES, SAW, SHOWN } from './entry-forms.js';
import { type FormState, filePlaces, formParts, knownLists, partsToGoTo } from './form-view.js';
import { kindGroups } from './kind-groups.js';
import { KnownCodes } from './known-codes.js';
import { saidIn } from './said.js';
import { Scans } from './scans.js';
import {
  AT,
  asRead,
  changeForm,
  documentOf,
  momentsRead,
  rowsOf,
  type TypedFields,
  unknownIn,
} from './typed-fields.js';

/** The button that was pressed. */
const ACTION = ':do';

const Typed = z.record(z.string().max(400), z.string().max(MOST.uploadFieldBytes));
type Typed = z.infer<typeof Typed>;
const Nothing = z.strictObject({});
const EntryQuery = z.strictObject({
  of: NAMED.schema.optional(),
  case: NAMED.schema.optional(),
  lot: NAMED.schema.optional(),
  findings: z
    .string()
    .regex(/^[0-9a-f]{12,64}(,[0-9a-f]{12,64}){0,99}$/, { error: 'findings by their first digits, with commas' })
    .transform((list) => list.split(','))
    .optional(),
  signal: z
    .string()
    .regex(/^[0-9a-f]{64}$/, { error: 'the identity of a signal: 64 hexadecimal digits' })
    .optional(),
});
type EntryQuery = z.infer<typeof EntryQuery>;

/** In its first form a document has no value that changes: nobody is asked why. */
const NOT_ASKED: ReadonlySet<string> = new Set(['reason']);

/** The body holds the form beside the files. */
const FILES = {
  field: 'files',
  mostBytes: MOST.draftFiles * MOST.draftFileBytes,
  mostFields: MOST.formFields,
  button: ACTION,
};

/** Documents entered on a page, each in the form that its kind asks for. */
@Controller('enter')
export class EntryController {
  constructor(
    private readonly pages: Pages,
    private readonly forms: EntryForms,
    private readonly drafts: Drafts,
    private readonly known: KnownCodes,
    private readonly scans: Scans,
    private readonly reports: KeptReports,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async list(): Promise<string> {
    const drafts = (await this.drafts.ofPerson(this.actor.person)).filter(({ kind }) => kindNamed(kind) !== undefined);
    return this.pages.render('enter-list', ENTRY_FORMS.list, {
      groups: kindGroups(),
      drafts: drafts.map(({ name, kind, changedAt }) => ({
        to: addressOf(kind, name),
        says: ENTRY_FORMS.yourDraft(kind, timeText(changedAt)),
      })),
      ...this.why(),
    });
  }

  @Access('signed in')
  @Get(':kind')
  @Header(...HTML)
  async begin(@Param('kind', NAMED) code: string, @Query({ schema: EntryQuery }) query: EntryQuery): Promise<string> {
    const form = this.forms.form(code);
    return this.page(form, this.drafts.begin(this.actor.person, code), await this.begunFields(form, query));
  }

  private begunFields(form: EntryForm, { of, case: ofCase, lot, findings, signal }: EntryQuery): Promise<TypedFields> {
    if (signal !== undefined) return this.forms.fromSignal(form, signal, this.actor.person);
    if (lot !== undefined && findings !== undefined)
      return this.forms.fromFindings(form, { lot, findings }, this.actor.person);
    return ofCase === undefined ? this.forms.begun(form, of) : this.forms.forCase(form, ofCase);
  }

  @Access('signed in')
  @Get(':kind/:draft')
  @Header(...HTML)
  async show(@Param('kind', NAMED) code: string, @Param('draft', NAMED) name: string): Promise<string> {
    const form = this.forms.form(code);
    return this.page(form, name, (await this.drafts.of(this.actor.person, name)).fields);
  }

  /** Keeps what was typed, and does what the button says: one more row, a group, or the check before storing. */
  @Access('signed in')
  @KeepsDraft()
  @TakesFiles(FILES)
  @PagePost(':kind/:draft')
  async take(
    @Param('kind', NAMED) code: string,
    @Param('draft', NAMED) name: string,
    @Body(filledIn(Typed)) typed: Typed,
    @Uploaded() upload: Upload,
  ): Promise<FormAnswer> {
    const form = this.forms.form(code);
    const { [ACTION]: pressed = 'check', ...sent } = typed;
    const { files, named, problems } = await chosenFiles(upload);
    // A browser sends the button where it stands, behind the files.
    const action = upload.pressed ?? pressed;
    const fields = { ...momentsRead(sent, this.forms.zone), ...named };
    const to = addressOf(code, name);
    if (action !== 'check') {
      const at = placeOf(action, fields);
      await this.drafts.keep(name, { ...changeForm(fields, action), [AT]: at }, files);
      return problems.length > 0 ? this.again(form, name, fields, problems) : { to: `${to}#${anchorId(at)}` };
    }
    const moved = await this.forms.movedSince(form, fields);
    const read = { ...asRead(form.shape, fields), ...moved.fields };
    await this.drafts.keep(name, read, files);
    const draft = await this.drafts.of(this.actor.person, name);
    const unknown = unknownIn(form.shape, fields).map(unknownField);
    const { shown, problems: found } = await this.checked(draft);
    const wrong = [...moved.problems, ...problems, ...unknown, ...found];
    if (wrong.length > 0) return this.again(form, name, read, wrong);
    await this.drafts.keep(name, { ...read, [SHOWN]: JSON.stringify(shown) });
    return { to: `${to}/check` };
  }

  @Access('signed in')
  @Get(':kind/:draft/check')
  @Header(...HTML)
  async check(@Param('kind', NAMED) code: string, @Param('draft', NAMED) name: string): Promise<string> {
    const form = this.forms.form(code);
    const { fields } = await this.drafts.of(this.actor.person, name);
    return this.pages.render('enter-check', ENTRY_FORMS.check(code, keyOf(form, fields)), {
      parts: saidIn(formParts(form.shape, this.plain(form, fields), new Set()), this.forms.zone),
      files: await this.drafts.fileNames(name),
      scans: await this.scans.of(form, name, fields),
      kind: code,
      foundOff: foundOffIn(code, fields),
      address: addressOf(code, name),
    });
  }

  @Access('signed in')
  @FormPost(':kind/:draft/store', {
    typed: Nothing,
    show: (controller: EntryController, failed) => controller.notStored(failed),
  })
  async store(
    @Param('kind', NAMED) _code: string,
    @Param('draft', NAMED) name: string,
    @Body(filledIn(Nothing)) _nothing: z.infer<typeof Nothing>,
  ): Promise<string> {
    const draft = await this.drafts.of(this.actor.person, name);
    const report = await this.forms.take(draft, this.sender, { check: false });
    await this.drafts.drop(name);
    return `/intake/${this.reports.keep(this.actor.person, report)}`;
  }

  @Access('signed in')
  @PagePost(':kind/:draft/leave')
  async leave(@Param('kind', NAMED) _code: string, @Param('draft', NAMED) name: string): Promise<string> {
    await this.drafts.of(this.actor.person, name);
    await this.drafts.drop(name);
    return '/enter';
  }

  private async notStored({ params, error }: FailedForm<unknown>): Promise<FormAnswer> {
    const problems = problemsIn(error);
    const form = this.forms.form(params.kind!);
    const { fields } = await this.drafts.of(this.actor.person, params.draft!);
    return this.again(form, params.draft!, fields, problems);
  }

  private async checked(draft: Draft): Promise<{ shown?: WouldStore | undefined; problems: readonly Problem[] }> {
    try {
      return { shown: (await this.forms.take(draft, this.sender, { check: true })).wouldStore, problems: [] };
    } catch (error) {
      return { problems: problemsIn(error) };
    }
  }

  private async again(
    form: EntryForm,
    name: string,
    fields: TypedFields,
    problems: readonly Problem[],
  ): Promise<FormAnswer> {
    return { to: addressOf(form.kind.kind, name), page: await this.page(form, name, fields, problems) };
  }

  private async page(
    { kind, shape }: EntryForm,
    name: string,
    typed: TypedFields,
    problems: readonly Problem[] = [],
  ): Promise<string> {
    // What came in after the session had ended is kept as it was typed.
    const fields = momentsRead(typed, this.forms.zone);
    const of = fields[REVISES];
    const hidden = of === undefined ? NOT_ASKED : new Set<string>();
    const state = { ...this.plain({ kind, shape }, fields), offered: await this.known.offered(kind.kind, fields) };
    const plain = formParts(shape, state, hidden);
    const errors = entryErrors(plain, problems);
    const errorsAt = (path: string) => errors.filter(({ field }) => field === path).map(({ says }) => says);
    const title = of === undefined ? ENTRY_FORMS.anew(kind.kind) : ENTRY_FORMS.again(kind.kind, of);
    return this.pages.render('enter', title, {
      ...this.why(),
      errors,
      errorTitle: ENTRY_FORMS.notStored,
      purpose: kind.purpose,
      address: addressOf(kind.kind, name),
      parts: formParts(shape, { ...state, errorsAt }, hidden),
      goTo: partsToGoTo(plain),
      known: await this.known.of(knownLists(plain), fields),
      of,
      saw: fields[SAW],
      files: await this.drafts.fileNames(name),
      scans: await this.scans.of({ kind, shape }, name, fields),
      // A file may be chosen before the part is opened that names it: so it is beside the fields from the start.
      filePlaces: filePlaces(formParts(shape, { ...state, allOpen: true }, hidden)).map(({ path, label }) => ({
        name: fileField(path),
        label: ENTRY_FORMS.chooseFile(label),
      })),
      mostFileMib: MOST.draftFileBytes >> 20,
    });
  }

  private plain({ kind }: EntryForm, fields: TypedFields): FormState {
    return { kind: kind.kind, fields, errorsAt: () => [], zone: this.forms.zone };
  }

  private why() {
    return { why: whyNotTakeIn(this.actor.session) };
  }

  private get sender(): Sender {
    const { person, acting } = this.actor.session;
    return { person, acting, actor: this.actor.name };
  }
}

/** What earlier results or builds rest on, and was found otherwise now: what it touches is looked at. */
function foundOffIn(kind: string, fields: TypedFields): { key: string; says: string } | undefined {
  if (kind === 'instrument') {
    const last = rowsOf(fields, 'calibrations') - 1;
    const isOff = fields[`calibrations[${last}].asFound`] === 'out of tolerance';
    return isOff ? { key: fields.instrument ?? '', says: ENTRY_FORMS.outOfTolerance } : undefined;
  }
  const isCorrected = kind === 'receipt' && (fields['corrects.certificate'] ?? '') !== '';
  return isCorrected ? { key: fields.receipt ?? '', says: ENTRY_FORMS.certificateCorrected } : undefined;
}

/** It is not passed over: whoever typed it believes that it is stored. */
const unknownField = (field: string): Problem => ({
  code: 'unknown-field',
  field,
  found: 'a field that this form does not have, or has no more',
  expected: 'the fields that it shows',
  remedy: 'look at the form as it is shown now, and type it where it belongs',
});

const addressOf = (kind: string, draft: string): string => `/enter/${encodeURIComponent(kind)}/${draft}`;

/** Where a button was pressed, or the row that it adds: there the page is shown again. */
function placeOf(action: string, before: TypedFields): string {
  const [what, place = ''] = action.split(/:(.*)/s);
  if (what === 'more') return `${place}[${rowsOf(before, place)}]`;
  return what === 'less' ? place.slice(0, place.lastIndexOf('[')) : place;
}

function keyOf({ kind, shape }: EntryForm, fields: TypedFields): string {
  const read = kind.schema.safeParse(documentOf(shape, fields));
  return read.success ? kind.key(read.data) : '';
}

import { Body, Controller, Get, Header, Param } from '@nestjs/common';
import { z } from 'zod';
import { AppError, BadInputError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { timeText } from '../dossier/time-text.js';
import { KnownCodes } from '../entry/known-codes.js';
import { momentsRead, type TypedFields } from '../entry/typed-fields.js';
import { type Sender, whyNotTakeIn } from '../intake/may-take-in.js';
import { Actor } from '../people/actor.js';
import { Drafts } from '../people/drafts.js';
import { anchorId } from '../report/anchors.js';
import { exportAddress, sheetsAddress } from '../report/page-addresses.js';
import { EXPORT_PAGE } from '../report/phrases/export-page.js';
import { limitsText } from '../report/phrases/limits.js';
import { RESULT_SHEETS, SHEET_REFUSALS } from '../report/phrases/result-sheets.js';
import { Store } from '../store/store.js';
import { Access, KeepsDraft } from '../web/access.js';
import type { FormAnswer } from '../web/form-answer.js';
import type { FormError } from '../web/form-errors.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn as filledInForm, NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { TakesFiles } from '../web/upload.js';
import { type HandedSheet, handedSheets, methodOf, valuesIn } from './handed-sheets.js';
import { nextField, SCANNED } from './next-field.js';
import { ResultSheets, SECOND, SHEET } from './result-sheets.js';
import { AGAIN, LOT, METHOD, OF } from './sheet-fields.js';
import { differenceErrors, returnedErrors, sheetErrors, sheetView } from './sheet-view.js';
import type { LotRows, MethodRows } from './waiting-values.js';

const ACTION = ':do';
const Typed = z.record(z.string().max(400), z.string().max(MOST.uploadFieldBytes));
type Typed = z.infer<typeof Typed>;
const Nothing = z.strictObject({});

/** No file comes: the body is only as long as its rows. */
const FIELDS = { field: 'fields', mostBytes: 4 * MOST.bodyBytes, mostFields: MOST.formFields };

/** Result sheets that two people type, one after the other. */
@Controller('sheets')
export class SheetsController {
  constructor(
    private readonly pages: Pages,
    private readonly sheets: ResultSheets,
    private readonly drafts: Drafts,
    private readonly known: KnownCodes,
    private readonly store: Store,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get(':lot')
  @Header(...HTML)
  async list(@Param('lot', NAMED) lot: string): Promise<string> {
    const { methods } = await this.sheets.rows(lot);
    const own = await this.drafts.ofPerson(this.actor.person);
    const begun = own.filter(({ kind, fields }) => isSheet(kind) && JSON.parse(fields)[LOT] === lot);
    return this.pages.render('sheets', RESULT_SHEETS.list(lot), {
      lot,
      ...this.why(),
      exports: { to: exportAddress(lot), says: EXPORT_PAGE.link },
      methods: methods.map((method) => ({
        to: `${sheetsAddress(lot)}/new/${encodeURIComponent(method.name)}`,
        title: titleOf(method),
        waits: RESULT_SHEETS.waits(method.rows.length, new Set(method.rows.map(({ specimen }) => specimen)).size),
      })),
      begun: begun.map(({ name, fields, changedAt }) => ({
        to: addressOf(lot, name),
        says: RESULT_SHEETS.begun(JSON.parse(fields)[METHOD], timeText(changedAt)),
      })),
      handed: (await handedSheets(this.store.read, lot)).map((sheet) => this.handedView(sheet)),
    });
  }

  @Access('signed in')
  @Get(':lot/new/:method')
  @Header(...HTML)
  async begin(@Param('lot', NAMED) code: string, @Param('method', NAMED) name: string): Promise<string> {
    const lot = await this.sheets.rows(code);
    const method = lot.methods.find((one) => one.name === name);
    if (!method) throw new AppError('NOT_FOUND', SHEET_REFUSALS.nothingWaits);
    const { person } = this.actor;
    const fields = { [LOT]: code, [METHOD]: name, analyst: person };
    return this.page(lot, method, this.sheets.begin(person, SHEET), fields, undefined);
  }

  /** The second person begins with an empty form: nothing of the first one is sent to them. */
  @Access('signed in')
  @Get(':lot/again/:handed')
  @Header(...HTML)
  async beginAgain(@Param('lot', NAMED) _code: string, @Param('handed', NAMED) name: string): Promise<string> {
    const handed = await this.sheets.handedNamed(name);
    if (handed.person === this.actor.person) throw new AppError('REFUSED', SHEET_REFUSALS.own);
    const { lot, method } = await this.sheets.rowsOf(handed);
    const fields = { [LOT]: handed.lot, [METHOD]: handed.method, [OF]: handed.name };
    return this.page(lot, method, this.sheets.begin(this.actor.person, SECOND), fields, handed);
  }

  /** Its own sheet comes back to whoever handed it over. */
  @Access('signed in')
  @FormPost(':lot/back/:handed')
  async back(
    @Param('lot', NAMED) lot: string,
    @Param('handed', NAMED) name: string,
    @Body(filledInForm(Nothing)) _nothing: z.infer<typeof Nothing>,
  ): Promise<string> {
    const handed = await this.sheets.handedNamed(name);
    if (handed.person !== this.actor.person) throw new AppError('REFUSED', SHEET_REFUSALS.notOwn);
    await this.sheets.giveBack(handed, []);
    return sheetsAddress(lot);
  }

  @Access('signed in')
  @Get(':lot/stored/:file')
  @Header(...HTML)
  async stored(@Param('lot', NAMED) code: string, @Param('file', NAMED) file: string): Promise<string> {
    const { body } = await this.store.read.entries.currentOrThrow('lot', code);
    const { specification, revision } = body.specification;
    const items = (await this.store.read.entries.revision('specification', specification, revision))!.body;
    const rows = (await this.store.read.results.current(code)).filter((row) => row.file === `results/${file}`);
    return this.pages.render('sheet-stored', RESULT_SHEETS.stored(code), {
      lot: code,
      rows: rows.map((row) => {
        const item = items.characteristics.find(({ characteristic }) => characteristic === row.characteristic)!;
        return { ...row, title: item.title, limits: limitsText(item) };
      }),
    });
  }

  @Access('signed in')
  @Get(':lot/:draft')
  @Header(...HTML)
  async show(@Param('lot', NAMED) _code: string, @Param('draft', NAMED) name: string): Promise<string> {
    // What came in after the session had ended is kept as it was typed.
    const { draft, lot, method, handed } = await this.sheets.open(this.actor.person, name);
    const returned = returnedErrors(method, draft.fields[AGAIN]);
    const title = RESULT_SHEETS.lookAgain;
    return this.page(lot, method, name, draft.fields, handed, returned, title);
  }

  @Access('signed in')
  @KeepsDraft()
  @TakesFiles(FIELDS)
  @FormPost(':lot/:draft')
  async take(
    @Param('lot', NAMED) code: string,
    @Param('draft', NAMED) name: string,
    @Body(filledInForm(Typed)) typed: Typed,
  ): Promise<FormAnswer> {
    const { [ACTION]: action = 'hand', [SCANNED]: scanned = '', ...fields } = typed;
    await this.sheets.keep(name, fields);
    const to = addressOf(code, name);
    if (action === 'keep') return { to };
    const open = await this.sheets.open(this.actor.person, name);
    const { draft, lot, method, handed } = open;
    const again = async (errors: readonly FormError[], title: string): Promise<FormAnswer> => ({
      to,
      page: await this.page(lot, method, name, draft.fields, handed, errors, title),
    });
    try {
      if (action === 'next') {
        const year = this.store.clock.now().getFullYear();
        const next = nextField(method.rows, draft.fields, scanned.trim(), year);
        return { to: `${to}#${next === undefined ? 'acts' : anchorId(next)}` };
      }
      if (!handed) {
        await this.sheets.handOver(open, this.sender);
        return { to: sheetsAddress(code) };
      }
      const { differing, file } = await this.sheets.compare(open, this.sender);
      if (file !== undefined) return { to: `${sheetsAddress(code)}/stored/${encodeURIComponent(file)}` };
      if (action === 'back') {
        await this.sheets.giveBack(handed, differing, name);
        return { to: sheetsAddress(code) };
      }
      return again(differenceErrors(method, handed.person, differing), RESULT_SHEETS.notAlike);
    } catch (error) {
      if (!(error instanceof BadInputError)) throw error;
      const title =
        action === 'next' ? RESULT_SHEETS.notFound : handed ? RESULT_SHEETS.notStored : RESULT_SHEETS.notHanded;
      return again(sheetErrors(method, error.problems), title);
    }
  }

  private async page(
    lot: LotRows,
    method: MethodRows,
    name: string,
    fields: TypedFields,
    handed: HandedSheet | undefined,
    errors: readonly FormError[] = [],
    errorTitle = '',
  ): Promise<string> {
    const code = lot.lot.lot;
    const title = handed ? RESULT_SHEETS.second : RESULT_SHEETS.sheet;
    const lists = ['instrument', 'person'].map((kind) => ({ id: `known-${kind}`, kinds: [kind] }));
    return this.pages.render('sheet', title(titleOf(method), code), {
      ...this.why(),
      errors,
      errorTitle,
      lot: code,
      list: sheetsAddress(code),
      address: addressOf(code, name),
      remembered: Object.entries(fields).filter(([field]) => [LOT, METHOD, OF, AGAIN].includes(field)),
      isSecond: handed !== undefined,
      differs: errorTitle === RESULT_SHEETS.notAlike,
      known: await this.known.of(lists, {}),
      scanned: SCANNED,
      ...sheetView(method, momentsRead(fields, this.sheets.zone), errors, this.sheets.zone),
    });
  }

  private handedView(sheet: HandedSheet) {
    const { name, person, at, lot } = sheet;
    return {
      says: RESULT_SHEETS.handed(methodOf(sheet), valuesIn(sheet), person, timeText(at)),
      to: `${sheetsAddress(lot)}/again/${name}`,
      back: `${sheetsAddress(lot)}/back/${name}`,
      isOwn: person === this.actor.person,
    };
  }

  private why() {
    return { why: whyNotTakeIn(this.actor.session) };
  }

  private get sender(): Sender {
    const { person, acting } = this.actor.session;
    return { person, acting, actor: this.actor.name };
  }
}

const isSheet = (kind: string): boolean => kind === SHEET || kind === SECOND;
const addressOf = (lot: string, draft: string): string => `${sheetsAddress(lot)}/${draft}`;
const titleOf = ({ method, revision, title }: MethodRows): string => RESULT_SHEETS.method(method, revision, title);

import { Injectable } from '@nestjs/common';
import { SiteZone } from '../base/clock.js';
import { AppError, BadInputError, type Problem } from '../base/errors.js';
import { sha256Hex } from '../dossier/canonical.js';
import { momentsRead, type TypedFields } from '../entry/typed-fields.js';
import { Intake } from '../intake/intake.js';
import { demandMayTakeIn, type Sender } from '../intake/may-take-in.js';
import { type Draft, Drafts } from '../people/drafts.js';
import { SHEET_REFUSALS } from '../report/phrases/result-sheets.js';
import { HANDED_SHEET } from '../store/draft-rows.js';
import { Store } from '../store/store.js';
import { type HandedSheet, handedSheets } from './handed-sheets.js';
import {
  AGAIN,
  type Difference,
  differences,
  fieldAt,
  filledIn,
  LOT,
  METHOD,
  OF,
  sheetRead,
  sheetText,
  type Typists,
  typedBeside,
} from './sheet-fields.js';
import { type LotRows, type MethodRows, rowsOfLot, type SheetRow } from './waiting-values.js';

/** Of a sheet that a person types, and of one that a second person types again. */
export const SHEET = 'result-sheet';
export const SECOND = 'result-sheet-again';

/** What came of holding two sheets against each other. */
interface Compared {
  readonly differing: readonly Difference[];
  /** Set where they were alike, and stored. */
  readonly file: string | undefined;
}

/** What a person has before them. */
export interface OpenSheet {
  readonly draft: Draft;
  readonly lot: LotRows;
  readonly method: MethodRows;
  /** Of a second person. */
  readonly handed: HandedSheet | undefined;
}

/**
 * Result sheets that people type: one for each method and lot. The first person hands a sheet over, a second one types it
 * again without seeing it, and what both typed alike goes the way of every folder.
 */
@Injectable()
export class ResultSheets {
  readonly zone: SiteZone;

  constructor(
    private readonly store: Store,
    private readonly intake: Intake,
    private readonly drafts: Drafts,
  ) {
    this.zone = new SiteZone(store.clock);
  }

  /** What waits to be typed for a lot: what was handed over waits no more. @throws NotFoundError */
  async rows(lot: string): Promise<LotRows> {
    const all = await rowsOfLot(this.store.read, lot);
    const handed = await handedSheets(this.store.read, lot);
    const methods = all.methods.map((method) => {
      const typed = handed.filter((sheet) => sheet.method === method.name);
      const isTyped = (row: SheetRow) => typed.some(({ fields }) => filledIn([row], fields).length > 0);
      return { ...method, rows: method.rows.filter((row) => !isTyped(row)) };
    });
    return { ...all, methods: methods.filter(({ rows }) => rows.length > 0) };
  }

  /** @throws AppError NOT_FOUND for what is stored, taken back, or never was. */
  async handedNamed(name: string): Promise<HandedSheet> {
    const found = (await handedSheets(this.store.read)).find((sheet) => sheet.name === name);
    if (!found) throw new AppError('NOT_FOUND', SHEET_REFUSALS.gone);
    return found;
  }

  /** A name for a sheet that is being shown; nothing is kept of it yet. */
  begin(person: string, kind: typeof SHEET | typeof SECOND): string {
    return this.drafts.begin(person, kind);
  }

  /** @throws AppError NOT_FOUND for what is not kept, or is somebody else's. */
  async open(person: string, name: string): Promise<OpenSheet> {
    const draft = await this.drafts.of(person, name);
    const of = draft.fields[OF];
    const rows = await this.rowsOf({ lot: draft.fields[LOT] ?? '', method: draft.fields[METHOD] ?? '' });
    return { draft, ...rows, handed: of === undefined ? undefined : await this.handedNamed(of) };
  }

  /** The rows of a sheet that was begun. @throws AppError NOT_FOUND where nothing of it waits any more. */
  async rowsOf({ lot: code, method: name }: Pick<HandedSheet, 'lot' | 'method'>) {
    const lot = await rowsOfLot(this.store.read, code);
    const method = lot.methods.find((one) => one.name === name);
    if (!method) throw new AppError('NOT_FOUND', SHEET_REFUSALS.nothingWaits);
    return { lot, method };
  }

  /** Keeps what was typed, as it is read. */
  keep(name: string, fields: TypedFields): Promise<void> {
    return this.drafts.keep(name, sheetRead(momentsRead(fields, this.zone)));
  }

  /**
   * Hands a sheet over for a second person. From here on nobody changes it.
   * @throws BadInputError with all that is wrong; AppError REFUSED for who may not take documents in.
   */
  async handOver({ draft, lot, method }: OpenSheet, sender: Sender): Promise<void> {
    await this.check({ lot, method }, draft.fields, { enteredBy: sender.person, checkedBy: '' }, sender);
    const { [AGAIN]: _, ...fields } = draft.fields;
    await this.drafts.setAside({ ...draft, fields }, HANDED_SHEET);
  }

  /**
   * Holds what the second person typed against the first, and stores it where both are alike.
   * @returns what differs, where nothing was stored; else the name of the sheet as a file.
   * @throws as `handOver`; AppError REFUSED for whoever typed it first.
   */
  async compare({ draft, lot, method, handed }: OpenSheet, sender: Sender): Promise<Compared> {
    if (!handed) throw new AppError('NOT_FOUND', SHEET_REFUSALS.gone);
    if (handed.person === sender.person) throw new AppError('REFUSED', SHEET_REFUSALS.own);
    const typists = { enteredBy: handed.person, checkedBy: sender.person };
    await this.check({ lot, method }, draft.fields, typists, sender);
    const differing = differences(method.rows, handed.fields, draft.fields);
    if (differing.length > 0) return { differing, file: undefined };
    const text = sheetText(method.rows, handed.fields, lot.recorded, typists);
    const file = `${method.method}-${sha256Hex(handed.name).slice(0, 8)}.csv`;
    await this.intake.takeSheet(lot.lot.lot, { file: `results/${file}`, text }, sender.actor);
    await this.store.change('program', async ({ drafts }) => {
      await drafts.drop(handed.name);
      await drafts.drop(draft.name);
    });
    return { differing, file };
  }

  /**
   * Gives a sheet back to whoever typed it first, who is told which fields were read otherwise, and not how.
   * @param second draft of the second person, which goes.
   */
  async giveBack(
    { name, person, fields }: HandedSheet,
    differing: readonly Difference[],
    second?: string,
  ): Promise<void> {
    const again = differing.map(({ field }) => field).join(' ');
    const back = this.drafts.begin(person, SHEET);
    await this.drafts.keep(back, { ...fields, ...(again === '' ? {} : { [AGAIN]: again }) });
    await this.drafts.drop(name);
    if (second !== undefined) await this.drafts.drop(second);
  }

  /** By the rules of every folder, so that whoever types is told at once what would be wrong in the end. */
  private async check(
    { lot: { lot, recorded }, method: { rows } }: Pick<OpenSheet, 'lot' | 'method'>,
    fields: TypedFields,
    typists: Typists,
    sender: Sender,
  ): Promise<void> {
    await demandMayTakeIn(this.store, sender);
    const late = typedBeside(rows, fields).map(recordedMeanwhile);
    if (late.length > 0) throw new BadInputError(late);
    if (filledIn(rows, fields).length === 0) throw new BadInputError([nothingTyped()]);
    const text = sheetText(rows, fields, recorded, typists);
    try {
      await this.intake.takeSheet(lot.lot, { file: 'results/typed.csv', text }, sender.actor, { check: true });
    } catch (error) {
      if (!(error instanceof BadInputError)) throw error;
      throw new BadInputError(
        error.problems.map(({ file: _, line, ...problem }) => ({
          ...problem,
          field: fieldAt(rows, fields, line ?? 0, problem.field ?? ''),
        })),
      );
    }
  }
}

/** Two people may begin the same sheet: what one of them had stored first is not passed over in the other one. */
const recordedMeanwhile = (field: string): Problem => ({
  code: 'recorded-meanwhile',
  field,
  found: 'a value that somebody else recorded since this sheet was begun',
  expected: 'values that are not recorded yet',
  remedy: 'look at the results of the lot, and begin the sheet again for what still waits',
});

const nothingTyped = (): Problem => ({
  code: 'nothing-typed',
  field: 'measuredAt',
  found: 'no value in any row',
  expected: 'at least one value',
  remedy: 'type what was measured; rows that stay empty still wait',
});

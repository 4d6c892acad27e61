import { Injectable } from '@nestjs/common';
import { SiteZone } from '../base/clock.js';
import { AppError, BadInputError, NotFoundError, type Problem } from '../base/errors.js';
import { Intake } from '../intake/intake.js';
import type { IntakeReport, WouldStore } from '../intake/intake-report.js';
import type { MadeDocument } from '../intake/made-documents.js';
import { demandMayTakeIn, type Sender } from '../intake/may-take-in.js';
import { kindNamed } from '../kinds/catalogue.js';
import { type FormShape, formShape } from '../kinds/form-shape.js';
import type { Kind } from '../kinds/kind.js';
import { FamilyStudies } from '../lots/family-studies.js';
import { NonconformityStarts } from '../lots/nonconformity-start.js';
import { type Draft, Drafts } from '../people/drafts.js';
import type { StoredRevision } from '../store/entries.js';
import { Store } from '../store/store.js';
import { documentOf, fieldsOf, type TypedFields } from './typed-fields.js';

/** Remembers in a draft of what entry it makes the next revision. No place of a document begins with a colon. */
export const REVISES = ':of';
/** Remembers which revision of that entry its person saw. */
export const SAW = ':saw';
/** Remembers what its person was shown that would be stored. */
export const SHOWN = ':shown';

/** A kind of document, and what its form asks for. */
export interface EntryForm {
  readonly kind: Kind;
  readonly shape: FormShape;
}

/** Findings of a lot from which a form is filled in. */
export interface FromFindings {
  readonly lot: string;
  /** The first twelve digits of each, or more. */
  readonly findings: readonly string[];
}

/** Documents made in forms. They go the way of every folder: the same rules, one change, under the name of who stores. */
@Injectable()
export class EntryForms {
  readonly zone: SiteZone;

  constructor(
    private readonly store: Store,
    private readonly intake: Intake,
    private readonly drafts: Drafts,
    private readonly starts: NonconformityStarts,
    private readonly studies: FamilyStudies,
  ) {
    this.zone = new SiteZone(store.clock);
  }

  /** @throws NotFoundError for what is no kind of document. */
  form(name: string): EntryForm {
    const kind = kindNamed(name);
    if (!kind) throw new NotFoundError('kind of document', name, 'that can be entered');
    return { kind, shape: formShape(kind.schema) };
  }

  /** What a form begins with: nothing, or an entry as it stands, whose next revision it makes. */
  async begun({ kind, shape }: EntryForm, key: string | undefined): Promise<TypedFields> {
    if (key === undefined) return {};
    const { body, revision: number } = await this.current(kind, key);
    const revision = kind.numbering === 'document' ? { revision: String(number + 1) } : {};
    return { ...fieldsOf(shape, body), ...revision, [REVISES]: key, [SAW]: String(number) };
  }

  /** A document about a case, with what the case says of it. @throws NotFoundError for a case that is not on record. */
  async forCase({ shape }: EntryForm, code: string): Promise<TypedFields> {
    const { body } = await this.store.read.entries.currentOrThrow('case', code);
    const { anatomicalSite, side, designIteration } = body;
    const says = { case: code, anatomicalSite, side, revision: designIteration, iteration: designIteration };
    return fieldsOf(shape, says);
  }

  /** A nonconformity with what is on record of the findings that it follows from. */
  async fromFindings({ kind, shape }: EntryForm, { lot, findings }: FromFindings, by: string): Promise<TypedFields> {
    if (kind.kind !== 'nonconformity') throw new NotFoundError('form from findings', kind.kind, 'but nonconformity');
    return fieldsOf(shape, await this.starts.of(lot, findings, by));
  }

  /** What a signal came from, with what the chart knows of it. @throws NotFoundError for one that asks for nothing. */
  async fromSignal({ kind, shape }: EntryForm, id: string, by: string): Promise<TypedFields> {
    if (kind.kind !== 'signal-outcome') throw new NotFoundError('form from a signal', kind.kind, 'but signal-outcome');
    const found = (await this.studies.openSignals()).find(({ signal }) => signal.id === id);
    if (!found) throw new NotFoundError('signal without an outcome', id);
    const { rule, points, lots } = found.signal;
    return fieldsOf(shape, { signal: id, plan: found.plan, rule, points, lots, by });
  }

  /**
   * Stores what a draft says, or only checks it.
   * @throws BadInputError with every problem at once; AppError REFUSED for who may not take documents in.
   */
  async take(draft: Draft, sender: Sender, { check }: { readonly check: boolean }): Promise<IntakeReport> {
    await demandMayTakeIn(this.store, sender);
    const made = await this.made(draft);
    const { [SHOWN]: shown } = draft.fields;
    const expected = check || shown === undefined ? undefined : (JSON.parse(shown) as WouldStore);
    try {
      return await this.intake.take([made], sender.actor, { check, expected });
    } catch (error) {
      if (!(error instanceof AppError) || error.facts.moved !== true) throw error;
      throw new BadInputError([movedOn('something that others stored since you looked')]);
    }
  }

  /** What others made of the entry since its person saw it. It is told once: who goes on then has read it. */
  async movedSince({ kind }: EntryForm, fields: TypedFields): Promise<{ problems: Problem[]; fields: TypedFields }> {
    const { [REVISES]: key, [SAW]: saw } = fields;
    if (key === undefined) return { problems: [], fields: {} };
    const now = String((await this.current(kind, key)).revision);
    const problems =
      saw === undefined || now === saw
        ? []
        : [movedOn(`revision ${now} of ${key}, which others stored since you opened this form`)];
    return { problems, fields: { [REVISES]: key, [SAW]: now } };
  }

  private async made({ name, kind: code, fields }: Draft): Promise<MadeDocument> {
    const { kind, shape } = this.form(code);
    const document = documentOf(shape, fields);
    const chosen = await this.drafts.files(name);
    const known = new Set(chosen.map((file) => file.name));
    const stored = fields[REVISES] === undefined ? [] : await this.storedFiles(kind, fields[REVISES]);
    const read = kind.schema.safeParse(document);
    const named = new Set(read.success ? kind.files(read.data).map(({ path }) => path) : []);
    return {
      file: fileName(kind, read.success ? kind.key(read.data) : ''),
      document,
      files: [
        ...chosen.map(({ name: path, bytes }) => ({ path, bytes })),
        ...stored.filter(({ path }) => named.has(path) && !known.has(path)),
      ],
    };
  }

  /** Files of the revision that stands, by the names that it has for them: they need not be sent again. */
  async storedFiles(kind: Kind, key: string): Promise<{ path: string; sha256: string }[]> {
    const revision = await this.current(kind, key);
    const rows = await this.store.read.entries.evidenceNamedBy([revision]);
    const byPath = new Map<string, string>();
    for (const { path, name } of kind.files(revision.body)) {
      const index = rows.findIndex((row) => row.name === name);
      const [row] = index < 0 ? [] : rows.splice(index, 1);
      if (row) byPath.set(path, row.sha256);
    }
    return [...byPath].map(([path, sha256]) => ({ path, sha256 }));
  }

  private current(kind: Kind, key: string): Promise<StoredRevision> {
    return this.store.read.entries.currentOrThrow(kind.kind, key);
  }
}

const movedOn = (found: string): Problem => ({
  code: 'moved',
  found,
  expected: 'the entry as you saw it',
  remedy: 'look at it as it stands now; what you typed is kept, and if it still holds check it again and store it',
});

/** A lot is a folder of its own. What a code cannot be in a name is left out of it: problems of a form name no file. */
function fileName({ kind }: Kind, key: string): string {
  const safe = key.replaceAll(/[^\p{L}\p{N}._-]+/gu, '-') || 'entered';
  return kind === 'lot' ? `${safe}/lot.yaml` : `${kind}-${safe}.yaml`;
}

/** What is wrong with a form, for the list above it; what is wrong with the request itself goes on as it is. */
export const problemsIn = (error: unknown) => {
  if (error instanceof BadInputError) return error.problems;
  throw error;
};

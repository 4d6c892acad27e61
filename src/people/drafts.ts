import { randomBytes } from 'node:crypto';
import { Inject, Injectable, Optional } from '@nestjs/common';
import { type Clock, MACHINE_CLOCK, systemClock } from '../base/clock.js';
import { AppError, BadInputError, NotFoundError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import type { DraftFile, DraftRow } from '../store/draft-rows.js';
import { Store } from '../store/store.js';

const DAY_MS = 24 * 60 * 60_000;
/** A form that nobody touched for so long is gone. */
export const DRAFT_DAYS = 30;

/** A form that a person began. */
export interface Draft extends Omit<DraftRow, 'fields'> {
  readonly fields: Readonly<Record<string, string>>;
}

/**
 * Forms that people began and did not store. The name of a draft says whose it is and for what kind, under a code of the
 * folder: so what somebody sends whose session has ended is kept for them, and for nobody else, without asking who sends
 * it (docs/decisions/drafts.md).
 */
@Injectable()
export class Drafts {
  constructor(
    private readonly store: Store,
    @Optional() @Inject(MACHINE_CLOCK) private readonly machine: Clock = systemClock,
  ) {}

  /** A name for a form that is being shown. Nothing is kept of it until it is sent. */
  begin(person: string, kind: string): string {
    const said = [person, kind, String(this.machine.now().getTime()), randomBytes(12).toString('base64url')];
    const text = Buffer.from(JSON.stringify(said)).toString('base64url');
    return `${text}.${this.store.secret.code('draft', ...said)}`;
  }

  /** Whose form it is, and for what kind. @returns undefined for a name that nobody was given, or too long ago. */
  meant(name: string): { readonly person: string; readonly kind: string } | undefined {
    const [text = '', code = ''] = name.split('.');
    let said: unknown;
    try {
      said = JSON.parse(Buffer.from(text, 'base64url').toString('utf8'));
    } catch {
      return undefined;
    }
    if (!Array.isArray(said) || said.length !== 4 || !said.every((one) => typeof one === 'string')) return undefined;
    if (!this.store.secret.isCode(code, 'draft', ...said)) return undefined;
    const [person, kind, at] = said as [string, string, string, string];
    return this.machine.now().getTime() - Number(at) < 2 * DRAFT_DAYS * DAY_MS ? { person, kind } : undefined;
  }

  /** @throws AppError NOT_FOUND for what is not kept, or is somebody else's. */
  async of(person: string, name: string): Promise<Draft> {
    const row = await this.store.read.drafts.byName(name);
    if (row?.person !== person) throw gone();
    return { ...row, fields: JSON.parse(row.fields) };
  }

  /** What a person began, the last one first. */
  ofPerson(person: string): Promise<DraftRow[]> {
    return this.store.read.drafts.ofPerson(person);
  }

  files(name: string): Promise<DraftFile[]> {
    return this.store.read.drafts.files(name);
  }

  /** @throws AppError NOT_FOUND for what is not kept, or is somebody else's; NotFoundError for a file that is not in it. */
  async file(person: string, name: string, file: string): Promise<DraftFile> {
    await this.of(person, name);
    const found = await this.store.read.drafts.file(name, file);
    if (!found) throw new NotFoundError('file of this form', file);
    return found;
  }

  fileNames(name: string): Promise<string[]> {
    return this.store.read.drafts.fileNames(name);
  }

  /**
   * Keeps what stands in a form.
   * @throws AppError NOT_FOUND for a name that nobody was given; BadInputError for more files than a form takes.
   */
  async keep(name: string, fields: Readonly<Record<string, string>>, files: readonly DraftFile[] = []): Promise<void> {
    const meant = this.meant(name);
    if (!meant) throw gone();
    const now = this.machine.now();
    const names = new Set([...(await this.fileNames(name)), ...files.map((file) => file.name)]);
    if (names.size > MOST.draftFiles) throw tooManyFiles(names.size);
    const row = { name, ...meant, fields: JSON.stringify(fields), changedAt: now.toISOString() };
    await this.store.change('program', async ({ drafts }) => {
      await drafts.dropOlder(new Date(now.getTime() - DRAFT_DAYS * DAY_MS).toISOString());
      await drafts.keep(row);
      for (const file of files) await drafts.keepFile(name, file);
      for (const { name: old } of (await drafts.ofPerson(meant.person)).slice(MOST.draftsOfPerson))
        await drafts.drop(old);
    });
  }

  /** Takes a form out of the hands of its person: it is kept as another kind, at a name to which nothing can be sent. */
  async setAside({ name, person, fields }: Draft, kind: string): Promise<void> {
    const aside = `${kind}-${randomBytes(16).toString('base64url')}`;
    const changedAt = this.machine.now().toISOString();
    await this.store.change('program', async ({ drafts }) => {
      await drafts.keep({ name: aside, person, kind, fields: JSON.stringify(fields), changedAt });
      await drafts.drop(name);
    });
  }

  async drop(name: string): Promise<void> {
    await this.store.change('program', ({ drafts }) => drafts.drop(name));
  }
}

const gone = () =>
  new AppError('NOT_FOUND', 'this form is not kept any more: it was stored, left for long, or is somebody else’s');

const tooManyFiles = (found: number) =>
  new BadInputError([
    {
      code: 'files',
      field: 'files',
      found: `${found} files`,
      expected: `at most ${MOST.draftFiles} of one form`,
      remedy: 'take the document in as a folder with its files',
    },
  ]);

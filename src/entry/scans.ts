import { Injectable } from '@nestjs/common';
import { Drafts } from '../people/drafts.js';
import { type ShownFile, shownFile } from '../web/shown-file.js';
import { type EntryForm, EntryForms, REVISES } from './entry-forms.js';
import type { TypedFields } from './typed-fields.js';

/** Pictures and PDFs that stand beside a form, from which people type what it asks for. */
@Injectable()
export class Scans {
  constructor(
    private readonly forms: EntryForms,
    private readonly drafts: Drafts,
  ) {}

  /** Files chosen in a form, and those of the entry that it revises where none of that name was chosen. */
  async of({ kind }: EntryForm, draft: string, fields: TypedFields): Promise<ShownFile[]> {
    const chosen = await this.drafts.fileNames(draft);
    const stored = fields[REVISES] === undefined ? [] : await this.forms.storedFiles(kind, fields[REVISES]);
    const places = [
      ...chosen.map((name) => ({ name, href: scanAddress(kind.kind, draft, name) })),
      ...stored
        .filter(({ path }) => !chosen.includes(path))
        .map(({ path, sha256 }) => ({ name: path, href: `/evidence/${sha256}/shown` })),
    ];
    return places.flatMap(({ name, href }) => shownFile(name, href) ?? []);
  }
}

const scanAddress = (kind: string, draft: string, name: string): string =>
  `/enter/${encodeURIComponent(kind)}/${draft}/files/${encodeURIComponent(name)}`;

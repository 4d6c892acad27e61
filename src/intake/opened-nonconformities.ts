import type { Handover } from '../kinds/after-release/handover.js';
import type { Nonconformity } from '../kinds/nonconformity.js';
import { takenAwayText } from '../report/phrases/places.js';
import type { Reads } from '../store/repositories.js';
import { documentText } from './document-text.js';
import { bodyIf } from './known.js';
import { documentsOf, type ReadFolder } from './read-folder.js';
import { readYaml } from './yaml-document.js';

/**
 * A folder with the nonconformities that its handovers of units taken away unreleased open: each that neither comes with them
 * nor is on record. Who took the units stands in the handover alone, since lots carry a nonconformity whole.
 */
export async function withOpenedNonconformities(read: ReadFolder, { entries }: Reads): Promise<ReadFolder> {
  const documents = documentsOf(read);
  const coming = new Set(documents.flatMap((one) => bodyIf('nonconformity', one)?.nonconformity ?? []));
  const opened = new Map<string, OpenedBy[]>();
  for (const document of documents) {
    const handover = bodyIf('handover', document);
    const code = handover?.unreleased?.nonconformity;
    if (handover === undefined || code === undefined || coming.has(code)) continue;
    if ((await entries.current('nonconformity', code)) !== undefined) continue;
    opened.set(code, [...(opened.get(code) ?? []), { handover, file: document.file }]);
  }
  const site = [...opened].flatMap(([code, by]) => {
    const { document } = readYaml(by[0]!.file, Buffer.from(documentText(nonconformityOf(code, by))));
    // What is wrong with it is wrong with the handover, and told there.
    return document === undefined ? [] : [{ document, files: [] }];
  });
  return { ...read, site: [...site, ...read.site] };
}

interface OpenedBy {
  readonly handover: Handover;
  readonly file: string;
}

function nonconformityOf(code: string, by: readonly OpenedBy[]): Nonconformity {
  const [{ handover: first }] = by as readonly [OpenedBy];
  const implants = new Set(by.flatMap(({ handover }) => handover.implants));
  return {
    kind: 'nonconformity',
    format: 1,
    nonconformity: code,
    opened: { by: first.by, at: first.at },
    sort: 'handling',
    says: takenAwayText(by.map(({ handover }) => handover.handover)),
    touches: [...implants].map((key) => ({ kind: 'implant', key })),
  };
}

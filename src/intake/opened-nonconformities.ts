import type { Complaint } from '../kinds/after-release/complaint.js';
import type { Handover } from '../kinds/after-release/handover.js';
import { LONGEST_TEXT } from '../kinds/fields.js';
import type { Nonconformity } from '../kinds/nonconformity.js';
import { complainedText, takenAwayText } from '../report/phrases/places.js';
import type { Reads } from '../store/repositories.js';
import { documentText } from './document-text.js';
import { bodyIf } from './known.js';
import { documentsOf, type ReadFolder } from './read-folder.js';
import { type ReadDocument, readYaml } from './yaml-document.js';

/**
 * A folder with the nonconformities that its handovers of units taken away unreleased and its complaints open: each that neither
 * comes with them nor is on record.
 */
export async function withOpenedNonconformities(read: ReadFolder, { entries }: Reads): Promise<ReadFolder> {
  const documents = documentsOf(read);
  const coming = new Set(documents.flatMap((one) => bodyIf('nonconformity', one)?.nonconformity ?? []));
  const opened = new Map<string, { readonly file: string; readonly body: Nonconformity }>();
  for (const document of documents) {
    const body = openedBy(document);
    if (body === undefined || coming.has(body.nonconformity)) continue;
    if ((await entries.current('nonconformity', body.nonconformity)) !== undefined) continue;
    const known = opened.get(body.nonconformity);
    opened.set(body.nonconformity, {
      file: document.file,
      body: known === undefined ? body : joined(known.body, body),
    });
  }
  const site = [...opened.values()].flatMap(({ file, body }) => {
    const { document } = readYaml(file, Buffer.from(documentText({ ...body })));
    // What is wrong with it is wrong with what opens it, and told there.
    return document === undefined ? [] : [{ document, files: [] }];
  });
  return { ...read, site: [...site, ...read.site] };
}

function openedBy(document: ReadDocument): Nonconformity | undefined {
  const handover = bodyIf('handover', document);
  if (handover?.unreleased !== undefined) return ofHandover(handover, handover.unreleased.nonconformity);
  const complaint = bodyIf('complaint', document);
  return complaint?.nonconformity === undefined ? undefined : ofComplaint(complaint, complaint.nonconformity);
}

/** Who took the units may be a person by name, and stands in the handover alone: lots carry a nonconformity whole. */
const ofHandover = ({ handover, by, at, implants }: Handover, code: string): Nonconformity => ({
  ...{ kind: 'nonconformity', format: 1, nonconformity: code, opened: { by, at }, sort: 'handling' },
  says: takenAwayText(handover),
  touches: implants.map((key) => ({ kind: 'implant', key })),
});

const ofComplaint = ({ complaint, received: { by, at }, says, implants }: Complaint, code: string): Nonconformity => ({
  ...{ kind: 'nonconformity', format: 1, nonconformity: code, opened: { by, at }, sort: 'other' },
  says: fitting(complainedText(complaint, says)),
  from: [{ kind: 'complaint', key: complaint }],
  touches: implants.map((key) => ({ kind: 'implant', key })),
});

/** One that several open. */
function joined(first: Nonconformity, second: Nonconformity): Nonconformity {
  const from = [...(first.from ?? []), ...(second.from ?? [])];
  const touches = [...first.touches, ...second.touches];
  return {
    ...first,
    says: fitting(`${first.says} ${second.says}`),
    ...(from.length === 0 ? {} : { from }),
    touches: touches.filter(({ key }, index) => touches.findIndex((one) => one.key === key) === index),
  };
}

/** What is too long for one text ends early: the whole stands in the document that opens it. */
const fitting = (text: string): string =>
  // Half of a character that takes two units is none.
  text.length <= LONGEST_TEXT ? text : `${text.slice(0, LONGEST_TEXT - 1).replace(/[\uD800-\uDBFF]$/, '')}…`;

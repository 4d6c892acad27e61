import { compareStatements } from '../../assessment/family/compare-statements.js';
import { CapabilityStatement } from '../../assessment/family/statement.js';
import { canonicalJson, sha256Hex } from '../../dossier/canonical.js';
import type { RecordIdentity } from '../../pdf/identity.js';
import { renderTwice } from '../../pdf/render.js';
import { PAPER } from '../../report/phrases/paper.js';
import {
  STATEMENT_CARRIES,
  STATEMENT_PAPER,
  STATEMENT_WORDS,
  statementNote,
} from '../../report/phrases/statement-paper.js';
import { ATTACHED, type AttachmentRef } from '../enclosure.js';
import type { RenderedRecord } from '../render-record.js';
import { drawStatement } from './draw.js';
import { CARRIED, type CapabilityEnclosure, type CapabilityIssue, capabilityNumber } from './enclosure.js';

/** What the paper of a statement is made of, as texts, so that it can be handed to another thread. Same content, same bytes. */
export interface CapabilityContent {
  /** Canonical JSON of the statement. */
  readonly statementText: string;
  /** The same of the one before; null for the first one. */
  readonly previousText: string | null;
  readonly issue: CapabilityIssue;
}

interface Carried extends AttachmentRef {
  readonly text: string;
}

/** Renders the paper of a capability statement with all that it rests on, unsealed. */
export async function renderCapability(content: CapabilityContent): Promise<RenderedRecord> {
  const { statementText, previousText, issue } = content;
  const statement = CapabilityStatement.parse(JSON.parse(statementText));
  const previous = previousText === null ? null : CapabilityStatement.parse(JSON.parse(previousText));
  const { family, characteristic: item } = statement.input;
  const files = carriedIn(content, statement);
  const enclosure: CapabilityEnclosure = {
    ...issue,
    ...{ format: 1, paper: 'capability statement', number: capabilityNumber(family, item.characteristic) },
    ...{ family, characteristic: item.characteristic, revision: statement.number },
    statementSha256: sha256Hex(statementText),
    previousSha256: previousText === null ? null : sha256Hex(previousText),
    attachments: files.map(({ text: _, ...ref }) => ref),
  };
  const enclosureText = canonicalJson(enclosure);
  const enclosureSha256 = sha256Hex(enclosureText);
  const identity: RecordIdentity = {
    number: enclosure.number,
    revision: String(enclosure.revision),
    title: `${STATEMENT_PAPER.title(item.title, family)}${issue.demo ? PAPER.demo : ''}`,
    subject: STATEMENT_PAPER.subject(family, item.characteristic),
    author: issue.program,
    digest: enclosure.statementSha256,
    enclosure: enclosureSha256,
    printedAt: new Date(issue.printedAt),
    program: issue.program,
    state: issue.draft ? 'draft' : 'final',
    words: STATEMENT_WORDS,
  };
  const changes = previous === null ? null : compareStatements(previous, statement);
  const pdf = await renderTwice(identity, (page) => {
    drawStatement(page, { statement, changes, enclosure });
    for (const file of [...files, enclosed(enclosureText)]) {
      page.attach({
        name: file.name,
        bytes: Buffer.from(file.text, 'utf8'),
        mediaType: file.mediaType,
        relationship: file.name === CARRIED.statement ? 'Source' : 'Supplement',
        description: file.describes,
      });
    }
  });
  return { pdf, enclosureText, enclosureSha256 };
}

const enclosed = (text: string) => ({
  ...{ name: ATTACHED.enclosure, text, mediaType: 'application/json', describes: STATEMENT_CARRIES.enclosure },
});

function carriedIn({ statementText, previousText }: CapabilityContent, statement: CapabilityStatement): Carried[] {
  const file = (name: string, text: string, mediaType: string, describes: string): Carried => ({
    ...{ name, text, mediaType, describes, sha256: sha256Hex(text), bytes: Buffer.byteLength(text) },
  });
  return [
    file(CARRIED.statement, statementText, 'application/json', STATEMENT_CARRIES.statement),
    ...(previousText === null
      ? []
      : [file(CARRIED.previous, previousText, 'application/json', STATEMENT_CARRIES.previous)]),
    file(CARRIED.note, statementNote(statement), 'text/plain', STATEMENT_CARRIES.note),
  ];
}

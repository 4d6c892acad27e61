import { LaterFormError } from '../base/errors.js';
import { parseForm } from '../base/later-form.js';
import { programName } from '../base/settings.js';
import { DesignContent, evidenceOf, factsIn, foundIn } from '../design-file/paper/content.js';
import { DESIGN_CARRIES, DesignEnclosure, issueOfDesign } from '../design-file/paper/enclosure.js';
import { renderDesign } from '../design-file/paper/render.js';
import { tooLarge } from '../design-file/paper/too-large.js';
import { DesignIndex } from '../design-history/design-index.js';
import { isDraft } from '../design-history/draft.js';
import { findGaps } from '../design-history/find-gaps.js';
import { approvalStanding } from '../dossier/approval-standing.js';
import { canonicalJson, digestOf, sha256Hex } from '../dossier/canonical.js';
import { covers } from '../dossier/statement.js';
import { anyKindNamed } from '../kinds/catalogue.js';
import { readBody } from '../kinds/formats.js';
import type { OpenedPdf } from '../pdf/reading/open-pdf.js';
import type { PdfContents } from '../pdf/reading/read-pdf.js';
import type { VerifyFinding } from '../report/phrases/verify.js';
import { checkKey, checkPeople } from './check-key.js';
import { checkHead, type Expected, expectedSeal, expectedSignatures } from './check-ledger.js';
import { checkAnchor, checkWitness } from './check-outside.js';
import { checkDrawn } from './check-pages.js';
import { checkSeal } from './check-seal.js';
import { checkStatements, statementName } from './check-statements.js';
import { firstDifference } from './first-difference.js';
import { compareAttachments, readEnclosure, sayLater, textOf } from './read-carried.js';
import type { Steps, VerifyOptions, VerifyReport } from './report.js';

/** Whether a PDF carries the design of a family, where records of lots carry a lot file. */
export const isDesignFile = ({ attachments }: PdfContents): boolean => attachments.has(DESIGN_CARRIES.design);

/**
 * Verifies the file of a design with nothing but the file: seal, attachments, signatures, audit trail, the digest of each
 * document, the rules on gaps walked again, each claim computed again, and the pages drawn again.
 */
export async function verifyDesign(
  opened: OpenedPdf,
  { key, people, anchor, authority }: VerifyOptions,
  steps: Steps,
): Promise<Omit<VerifyReport, 'file'>> {
  const { bytes, contents } = opened;
  const enclosure = readEnclosure(contents, DesignEnclosure, steps)?.enclosure;
  const certificateSha256 = enclosure && (enclosure.seal?.certificateSha256 ?? null);
  const seal = await checkSeal(bytes, contents, { draft: enclosure?.draft ?? false, certificateSha256 }, steps);
  if (!enclosure) return { answer: steps.answer, record: null, units: [], steps: steps.list };
  if (compareAttachments(contents, enclosure, steps, Object.values(DESIGN_CARRIES))) {
    const content = readContent(contents, enclosure, steps);
    const { signatures, keys, people: carried, demo, designSha256 } = enclosure;
    const asOfLot = { states: [], lot: '', dossierSha256: designSha256, forCase: null };
    checkStatements({ ...asOfLot, signatures, keys, people: carried, demo }, undefined, steps);
    const expected = content ? expectedIn(enclosure, content) : [];
    const headKey = checkHead(enclosure, { expected, statements: signatures }, steps);
    if (content) {
      checkCarried(content, enclosure, steps);
      checkDesign(content, enclosure, steps);
    }
    const designText = textOf(contents, DESIGN_CARRIES.design);
    const templateText = textOf(contents, DESIGN_CARRIES.template);
    const render = () => {
      const evidence = evidenceOf(DesignContent.parse(JSON.parse(designText)), contents.attachments);
      return renderDesign({ designText, templateText, evidence, issue: issueOfDesign(enclosure) });
    };
    await checkDrawn(bytes, enclosure, render, { contents, seal }, steps);
    checkKey(key, headKey, { ...enclosure, record: enclosure }, undefined, steps);
    checkPeople(people, enclosure, steps);
  }
  checkWitness(enclosure, authority, steps);
  checkAnchor({ ...enclosure, earlier: [] }, anchor, steps);
  const paper = { number: enclosure.number, entries: enclosure.revision };
  return { answer: steps.answer, record: null, paper, units: [], steps: steps.list };
}

function readContent(contents: PdfContents, enclosure: DesignEnclosure, steps: Steps): DesignContent | undefined {
  const name = DESIGN_CARRIES.design;
  const wrong = (finding: VerifyFinding) => steps.broken('design', finding);
  const text = textOf(contents, name);
  if (sha256Hex(text) !== enclosure.designSha256) return wrong({ code: 'another design', facts: { name } });
  try {
    const value: unknown = JSON.parse(text);
    const content = parseForm(name, DesignContent, value);
    if (canonicalJson(value) !== text || content.family !== enclosure.family) {
      return wrong({ code: 'another design', facts: { name } });
    }
    for (const { kind, body } of [...content.revisions, ...exposuresIn(content)]) demandForm(kind, body);
    return content;
  } catch (error) {
    if (error instanceof LaterFormError) sayLater('design', [error.what], enclosure.program, steps);
    else wrong({ code: 'design of unknown form', facts: { name } });
    return undefined;
  }
}

/**
 * Rules read only what intake lets in: no document says more of itself than its kind knows.
 * @throws LaterFormError for what only a later version knows, ZodError for what is not of its kind.
 */
function demandForm(kind: string, body: unknown): void {
  const known = anyKindNamed(kind);
  if (known === undefined) throw new LaterFormError(`${DESIGN_CARRIES.design} has documents of kind ${kind}`);
  readBody(known, body);
}

/** Exposures by which a loss is held against a window, as revisions of their kind. */
const exposuresIn = ({ studied }: Pick<DesignContent, 'studied'>) =>
  studied.flatMap(({ exposed }) => (exposed?.exposures ?? []).map((one) => ({ kind: 'exposure', ...one })));

/**
 * Every revision that the file carries, since gaps follow from all of them, what withdrew one, files that were received by
 * then and what removed one, signatures and seal.
 */
function expectedIn({ signatures, seal }: DesignEnclosure, content: DesignContent): Expected[] {
  const { revisions, asOf, evidence } = content;
  return [
    ...[...revisions, ...exposuresIn(content)].map(
      ({ kind, key, revision, digest }): Expected => ({
        unproven: { thing: 'revision', kind, key, revision },
        found: (entry) =>
          entry.type === 'revision-recorded' &&
          entry.seq <= asOf.entries &&
          entry.kind === kind &&
          entry.key === key &&
          entry.revision === revision &&
          entry.digest === digest,
      }),
    ),
    ...revisions
      .filter(({ withdrawn }) => withdrawn)
      .map(
        ({ kind, key, revision }): Expected => ({
          unproven: { thing: 'withdrawal', kind, key, revision },
          found: (entry) =>
            entry.type === 'event-recorded' &&
            entry.seq <= asOf.entries &&
            entry.event === 'document-withdrawn' &&
            entry.subject.kind === kind &&
            entry.subject.key === key,
        }),
      ),
    ...expectedFiles(evidence, asOf.entries),
    ...expectedSignatures(signatures),
    ...expectedSeal(seal),
  ];
}

/** @param entries of the audit trail of which the file tells. A file may have been removed since. */
function expectedFiles(evidence: DesignContent['evidence'], entries: number): Expected[] {
  const files = new Map(evidence.map((one) => [JSON.stringify([one.sha256, one.bytes, one.fileName]), one]));
  return [...files.values()].flatMap(({ sha256, bytes, fileName, why }) => {
    const received: Expected = {
      unproven: { thing: 'file', sha256, fileName },
      found: (entry) =>
        entry.type === 'evidence-received' &&
        entry.seq <= entries &&
        entry.sha256 === sha256 &&
        entry.bytes === bytes &&
        entry.fileName === fileName,
    };
    const removal: Expected = {
      unproven: { thing: 'removal', sha256, fileName },
      found: (entry) =>
        entry.type === 'event-recorded' && entry.event === 'evidence-redacted' && entry.subject.key === sha256,
    };
    return why === 'removed' ? [received, removal] : [received];
  });
}

/**
 * Every file that the design says it carries is attached with the SHA-256 that the design gives it, and one that it calls too
 * large is. That these bytes were received, and how many they are, the audit trail proves. On the seal alone rests which document
 * names them, what the parts of a lot are, that no later revision of an exposure was there, and that
 * one is personal data, it does not.
 */
function checkCarried({ evidence }: DesignContent, { attachments, program }: DesignEnclosure, steps: Steps): void {
  for (const { carriedAs: name, sha256 } of evidence) {
    if (name === null || attachments.some((one) => one.name === name && one.sha256 === sha256)) continue;
    steps.broken('attachments', { code: 'attachment not named', facts: { name } });
  }
  const large = tooLarge(evidence.filter(({ carriedAs, why }) => carriedAs !== null || why === 'too large'));
  const claimed = new Map(
    evidence.filter(({ why }) => why === 'too large').map(({ sha256, fileName }) => [sha256, fileName]),
  );
  for (const [sha256, name] of claimed) {
    if (large.has(sha256)) continue;
    const finding: VerifyFinding = { code: 'left out without need', facts: { name } };
    // Another version may carry less or more.
    if (program === programName()) steps.broken('attachments', finding);
    else steps.differs('attachments', finding);
  }
}

/** Each document is what its digest says, its standing is what was signed, and rules and claims come to the same again. */
function checkDesign(content: DesignContent, enclosure: DesignEnclosure, steps: Steps): undefined {
  const statements = enclosure.signatures.map(({ statement }) => statement);
  for (const { kind, key, revision, digest, body } of [...content.revisions, ...exposuresIn(content)]) {
    const facts = { kind, key, revision };
    if (digestOf(body) !== digest) return steps.broken('design', { code: 'document spoilt', facts });
  }
  for (const one of content.revisions) {
    const { kind, key, revision } = one;
    const facts = { kind, key, revision };
    const { authors, approvedBy, approvedAt } = approvalStanding(one as never, statements);
    const isAsSigned =
      `${authors}` === `${one.authors}` && approvedBy === one.approvedBy && approvedAt === one.approvedAt;
    if (!isAsSigned) return steps.broken('design', { code: 'not as signed', facts });
  }
  const digests = content.revisions.map(({ digest }) => digest);
  for (const signed of enclosure.signatures) {
    if (digests.some((digest) => covers(signed.statement, digest))) continue;
    steps.broken('signatures', { code: 'signature on another statement', facts: { statement: statementName(signed) } });
  }
  try {
    const design = new DesignIndex(factsIn(content));
    const gaps = findGaps(design.facts, design);
    const draft = isDraft(design, gaps);
    const again: unknown = JSON.parse(canonicalJson({ ...foundIn(design, gaps), draft }));
    const difference = firstDifference({ ...content.found, draft: enclosure.draft }, again);
    const counted = { documents: content.revisions.length, ...countsOf(content) };
    if (difference === undefined) steps.holds('design', { code: 'design alike', facts: counted });
    else if (enclosure.program === programName())
      steps.broken('design', { code: 'design otherwise', facts: { difference } });
    else {
      const facts = { program: enclosure.program, own: programName(), difference };
      steps.differs('design', { code: 'other rules on designs', facts });
    }
  } catch {
    // What was forged may be more than the rules are made for.
    return steps.broken('design', { code: 'design of unknown form', facts: { name: DESIGN_CARRIES.design } });
  }
}

const countsOf = ({ found }: DesignContent) => ({ gaps: found.gaps.length, claims: found.claims.length });

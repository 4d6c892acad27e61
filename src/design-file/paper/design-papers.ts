import { Injectable } from '@nestjs/common';
import { stamp } from '../../base/clock.js';
import { programName } from '../../base/settings.js';
import { asMembers, membersOf } from '../../design-history/baselines.js';
import type { DesignFacts, DesignRevision } from '../../design-history/design-facts.js';
import { DesignIndex } from '../../design-history/design-index.js';
import { isDraft } from '../../design-history/draft.js';
import { findGaps, openGaps } from '../../design-history/find-gaps.js';
import { canonicalJson } from '../../dossier/canonical.js';
import { sealPdf } from '../../pdf/seal/seal-pdf.js';
import { sealOf, underHead } from '../../records/record-proofs.js';
import type { DesignOrder } from '../../report/design-template.js';
import { SEAL_FIELD, SEAL_REASON } from '../../report/phrases/seal.js';
import { designTemplateText } from '../../report/standard-template.js';
import { Store } from '../../store/store.js';
import { type AsOf, nowAsOf } from '../as-of.js';
import { DesignFiles } from '../design-files.js';
import { lotsMade } from '../lots-made.js';
import { carriedEvidence } from './carried-evidence.js';
import { type CarriedEvidence, contentOf, evidenceOf, foundIn } from './content.js';
import { designNumber } from './enclosure.js';
import { renderDesignInWorker } from './render-in-worker.js';

export interface DesignPaper {
  readonly number: string;
  readonly pdf: Buffer;
  /** While a gap is open, or no approved baseline froze the design as it is shown. It is not sealed then. */
  readonly draft: boolean;
  /** Gaps that are open. */
  readonly open: number;
}

/** Prints the file of the design of a family as it stood at a moment. */
@Injectable()
export class DesignPapers {
  constructor(
    private readonly store: Store,
    private readonly designs: DesignFiles,
  ) {}

  /**
   * @throws NotFoundError when the family was not on record then; AppError ALTERED when the database does not follow from what
   *   is kept outside it.
   */
  async print(family: string, actor: string, order: DesignOrder, asked?: AsOf): Promise<DesignPaper> {
    const { read, clock, folder } = this.store;
    await this.store.compare();
    const asOf = asked ?? (await nowAsOf(this.store));
    const facts = await this.designs.of(family, asOf);
    const design = new DesignIndex(facts);
    const signed = (await read.signatures.on(facts.revisions.map(({ digest }) => digest)))
      .filter(({ ledgerSeq }) => ledgerSeq <= asOf.size)
      .map((one) => one.signed);
    const evidence = await carriedEvidence(
      this.store,
      await read.entries.evidenceNamedBy(asMembers(membersOf(design))),
    );
    const entries = [...(await this.entriesOf(facts)), ...(await this.entriesOfFiles(evidence.listed))];
    const head = { entries: asOf.size, root: await read.ledger.root(asOf.size) };
    const gaps = findGaps(facts, design);
    const made = await lotsMade(read, design, asOf);
    const content = contentOf(design, foundIn(design, gaps), head, made, evidence.listed);
    const draft = isDraft(design, gaps);
    const seal = await sealOf(this.store);
    const now = stamp(clock);
    const rendered = await renderDesignInWorker({
      designText: canonicalJson(content),
      templateText: designTemplateText(order),
      evidence: evidenceOf(content, new Map(evidence.files.map(({ name, bytes }) => [name, bytes]))),
      issue: {
        ...{ order, demo: folder.demo, program: programName(), node: process.versions.node },
        ...{ printedAt: now.utc, printedOffset: now.offset, printedBy: actor },
        signatures: signed,
        ...(await underHead(this.store, {
          statements: signed,
          signers: signed.map((one) => one.statement.person.code),
          entries,
          seal: draft ? null : seal,
        })),
      },
    });
    const words = {
      reason: SEAL_REASON,
      name: seal.subject,
      title: SEAL_FIELD.title(seal.subject),
      alt: SEAL_FIELD.alt,
    };
    const { buffer, byteOffset, length } = rendered.pdf;
    const unsealed = Buffer.from(buffer, byteOffset, length);
    return {
      number: designNumber(family),
      pdf: draft ? unsealed : sealPdf(unsealed, seal, { ...words, signedAt: new Date(now.utc) }),
      draft,
      open: openGaps(gaps).length,
    };
  }

  /** Places in the ledger of revisions and exposures of a design, and of what withdrew some of them. */
  private async entriesOf({ revisions, lots }: DesignFacts): Promise<number[]> {
    const { entries, events } = this.store.read;
    const exposures = [...lots.values()].flatMap(({ exposed }) => exposed?.exposures ?? []);
    const all = [...revisions, ...exposures.map((one) => ({ ...one, kind: 'exposure', withdrawn: false }))];
    const shown = new Map(all.map((one) => [revisionText(one), one]));
    const names = new Map(all.map(({ kind, key }) => [`${kind} ${key}`, [kind, key] as const]));
    const recorded = (await entries.revisionsOf([...names.values()])).filter((one) => shown.has(revisionText(one)));
    const withdrawals = (await events.ofTypes(['document-withdrawn'])).filter(
      ({ event }) => event.type === 'document-withdrawn' && shown.get(revisionText(event))?.withdrawn === true,
    );
    return [...recorded, ...withdrawals].map(({ ledgerSeq }) => ledgerSeq);
  }

  /** Places in the ledger of the receipt of these files, and of what removed some of them. */
  private async entriesOfFiles(listed: readonly CarriedEvidence[]): Promise<number[]> {
    const { evidence, events } = this.store.read;
    const entries = await evidence.entriesOf([...new Set(listed.map(({ sha256 }) => sha256))]);
    const removed = new Set(listed.flatMap(({ sha256, why }) => (why === 'removed' ? [sha256] : [])));
    for (const key of removed) {
      const removals = (await events.of({ kind: 'evidence', key })).filter(
        ({ event }) => event.type === 'evidence-redacted',
      );
      entries.push(...removals.map(({ ledgerSeq }) => ledgerSeq));
    }
    return entries;
  }
}

const revisionText = ({ kind, key, revision }: Pick<DesignRevision, 'kind' | 'key' | 'revision'>): string =>
  `${kind} ${key} ${revision}`;

import { Injectable } from '@nestjs/common';
import { CapabilityStatement } from '../../assessment/family/statement.js';
import { stamp } from '../../base/clock.js';
import { NotFoundError } from '../../base/errors.js';
import { parseForm } from '../../base/later-form.js';
import { programName } from '../../base/settings.js';
import { sealPdf } from '../../pdf/seal/seal-pdf.js';
import { SEAL_FIELD, SEAL_REASON } from '../../report/phrases/seal.js';
import { THINGS } from '../../report/phrases/things.js';
import { standardTemplate } from '../../report/standard-template.js';
import { Store } from '../../store/store.js';
import { sealOf, underHead } from '../record-proofs.js';
import { renderInWorker } from '../render-in-worker.js';
import { sinceStated } from './since-stated.js';

export interface CapabilityPaper {
  readonly pdf: Buffer;
  /** While quality has not reviewed it. */
  readonly draft: boolean;
}

/** Prints statements of capability that are on record. What is printed is what was stated, and what is known of it now. */
@Injectable()
export class CapabilityPapers {
  constructor(private readonly store: Store) {}

  /**
   * @param number of the statement.
   * @throws NotFoundError when there is none; AppError ALTERED when the database does not follow from what is kept outside it.
   */
  async print(family: string, characteristic: string, number: number, actor: string): Promise<CapabilityPaper> {
    const { read } = this.store;
    await this.store.compare();
    const statements = read.capabilityStatements;
    const found = await statements.numbered(family, characteristic, number);
    if (!found) throw new NotFoundError(THINGS.capability(`${family}:${characteristic}`, number), String(number));
    const statement = parseForm(`statement ${found.digest}`, CapabilityStatement, JSON.parse(found.body));
    const before = number === 1 ? null : await statements.numbered(family, characteristic, number - 1);
    const signed = (await read.signatures.on([found.digest])).map((one) => one.signed);
    const draft = !signed.some((one) => one.statement.meaning === 'reviewed');
    const seal = await sealOf(this.store);
    const now = stamp(this.store.clock);
    const rendered = await renderInWorker({
      statementText: found.body,
      previousText: before?.body ?? null,
      issue: {
        draft,
        demo: this.store.folder.demo,
        program: programName(),
        node: process.versions.node,
        ...{ printedAt: now.utc, printedOffset: now.offset, printedBy: actor },
        signatures: signed,
        ...(await underHead(this.store, {
          statements: signed,
          signers: signed.map((one) => one.statement.person.code),
          entries: [found.ledgerSeq],
          seal: draft ? null : seal,
        })),
        since: await sinceStated(read, statement),
        caution: standardTemplate().cautions.statistics,
      },
    });
    if (draft) return { pdf: Buffer.from(rendered.pdf), draft };
    const words = {
      reason: SEAL_REASON,
      name: seal.subject,
      title: SEAL_FIELD.title(seal.subject),
      alt: SEAL_FIELD.alt,
    };
    return { pdf: sealPdf(Buffer.from(rendered.pdf), seal, { ...words, signedAt: new Date(now.utc) }), draft };
  }
}

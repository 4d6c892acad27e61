import { Injectable } from '@nestjs/common';
import { stamp } from '../../base/clock.js';
import { programName } from '../../base/settings.js';
import { sealPdf } from '../../pdf/seal/seal-pdf.js';
import { sealOf, underHead } from '../../records/record-proofs.js';
import type { DesignOrder } from '../../report/design-template.js';
import { SEAL_FIELD, SEAL_REASON } from '../../report/phrases/seal.js';
import { designTemplateText } from '../../report/standard-template.js';
import { Store } from '../../store/store.js';
import { type AsOf, nowAsOf } from '../as-of.js';
import { DesignAnswers } from '../design-answers.js';
import { placesOf } from './carried-evidence.js';
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

/**
 * Prints the file of the design of a family as it stood at a moment. Of a service a worker thread gathers it and walks its gaps,
 * another one reads its evidence and draws it.
 */
@Injectable()
export class DesignPapers {
  constructor(
    private readonly store: Store,
    private readonly answers: DesignAnswers,
  ) {}

  /**
   * @throws NotFoundError when the family was not on record then; AppError ALTERED when the database does not follow from what
   *   is kept outside it.
   */
  async print(family: string, actor: string, order: DesignOrder, asked?: AsOf): Promise<DesignPaper> {
    const { read, clock, folder } = this.store;
    await this.store.compare();
    const asOf = asked ?? (await nowAsOf(this.store));
    const gathered = await this.answers.ask('paper', { family, asOf });
    const { designText, evidence, entries, digests, draft, open } = gathered;
    const signed = (await read.signatures.on(digests))
      .filter(({ ledgerSeq }) => ledgerSeq <= asOf.size)
      .map((one) => one.signed);
    const seal = await sealOf(this.store);
    const now = stamp(clock);
    const rendered = await renderDesignInWorker({
      designText,
      templateText: designTemplateText(order),
      evidence: await placesOf(this.store, evidence),
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
      ...{ draft, open },
    };
  }
}

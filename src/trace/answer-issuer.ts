import { Injectable } from '@nestjs/common';
import { stamp } from '../base/clock.js';
import { BadInputError } from '../base/errors.js';
import { type Sent, sent } from '../base/same-program.js';
import { programName } from '../base/settings.js';
import { WorkerPool } from '../base/worker-pool.js';
import { sha256Hex } from '../dossier/canonical.js';
import type { Event } from '../ledger/event.js';
import { sealPdf } from '../pdf/seal/seal-pdf.js';
import { keysOf, sealOf } from '../records/record-proofs.js';
import { ANSWER_FILES } from '../report/phrases/answer-paper.js';
import type { AuditorQuestionName } from '../report/phrases/auditor-questions.js';
import { SEAL_FIELD, SEAL_REASON } from '../report/phrases/seal.js';
import { Store } from '../store/store.js';
import { AuditorAnswers } from './auditor-answers.js';
import type { AuditorAsked } from './auditor-rows.js';
import { type CarriedAnswer, headOf, type Named, revisionsIn, type Told } from './carried-answer.js';
import type { ImpactAsked } from './impact.js';
import { Impacts } from './impacts.js';
import { recallStanding } from './recall-standing.js';
import { type Directions, Tracer } from './tracer.js';

const pool = new WorkerPool<Sent<CarriedAnswer>, Uint8Array>(new URL('./render-answer-worker.js', import.meta.url));

/** More things than anybody reads on paper, and more proofs than a file should carry. */
const MOST_NAMED = 20_000;

export interface IssuedAnswer {
  readonly pdf: Buffer;
  readonly name: string;
  readonly sha256: string;
}

/** Gives answers out as sealed files that prove by themselves that they come from the audit trail. */
@Injectable()
export class AnswerIssuer {
  constructor(
    private readonly store: Store,
    private readonly tracer: Tracer,
    private readonly impacts: Impacts,
    private readonly auditors: AuditorAnswers,
  ) {}

  /** @throws as `Tracer.trace`; BadInputError for an answer that is too long for paper. */
  async trace(id: string, directions: Directions, actor: string): Promise<IssuedAnswer> {
    const report = await this.tracer.trace(id, directions);
    // As JSON: what the answer holds is shared with what the store keeps.
    const told: Told = { what: 'trace', report: JSON.parse(JSON.stringify(report)) };
    const asked = Object.entries({ thing: id, ...report.narrowed }).filter(
      (field): field is [string, string] => !!field[1],
    );
    return this.issue(told, {
      ...{ what: 'answer of a trace as PDF', filter: Object.fromEntries(asked), actor },
      name: ANSWER_FILES.trace(id, report.head.size),
    });
  }

  /** @throws as `Impacts.of`; BadInputError for an answer that is too long for paper. */
  async impact(asked: ImpactAsked, actor: string): Promise<IssuedAnswer> {
    const report = await this.impacts.of(asked);
    const { cause, from, to, altered, head } = report;
    const told: Told = { what: 'impact', report };
    return this.issue(told, {
      ...{ what: 'answer of an impact as PDF', filter: { thing: cause.key, from, to, altered }, actor },
      name: ANSWER_FILES.impact(cause.key, head.size),
    });
  }

  /** @throws NotFoundError when there is no such recall. */
  async recall(code: string, actor: string): Promise<IssuedAnswer> {
    const report = await recallStanding(this.store, code);
    const told: Told = { what: 'recall', head: await this.tracer.head(), report };
    return this.issue(told, {
      ...{ what: 'report of a recall as PDF', filter: { recall: code }, actor },
      name: ANSWER_FILES.recall(code, report.revision),
    });
  }

  /** @throws BadInputError for an answer that is too long for paper. */
  async question(name: AuditorQuestionName, asked: AuditorAsked, actor: string): Promise<IssuedAnswer> {
    const report = await this.auditors.answer(name, asked);
    if (report.rows.length > MOST_NAMED) throw tooMany(report.rows.length);
    const filter = Object.entries({ question: name, ...asked }).filter((one): one is [string, string] => !!one[1]);
    return this.issue(
      { what: 'question', report },
      {
        ...{ what: 'answer to an auditor as PDF', filter: Object.fromEntries(filter), actor },
        name: ANSWER_FILES.question(name, report.head.size),
      },
    );
  }

  private async issue(
    told: Told,
    given: {
      readonly what: Extract<Event, { type: 'exported' }>['what'];
      readonly filter: Record<string, string>;
      readonly actor: string;
      readonly name: string;
    },
  ): Promise<IssuedAnswer> {
    const { what, filter, actor, name } = given;
    await this.store.compare();
    const seal = await sealOf(this.store);
    const now = stamp(this.store.clock);
    const carried: CarriedAnswer = {
      format: 1,
      told,
      ...{ program: programName(), node: process.versions.node, demo: this.store.folder.demo },
      ...{ printedAt: now.utc, printedOffset: now.offset, printedBy: actor },
      keys: keysOf(await this.store.read.events.installationKeys()),
      ...(await this.provenBy(told, seal.certificateSha256)),
      seal: { certificateSha256: seal.certificateSha256 },
    };
    const pdf = sealPdf(Buffer.from(await rendered(carried)), seal, {
      reason: SEAL_REASON,
      name: seal.subject,
      title: SEAL_FIELD.title(seal.subject),
      alt: SEAL_FIELD.alt,
      signedAt: new Date(now.utc),
    });
    const sha256 = sha256Hex(pdf);
    await this.store.change(actor, (change) =>
      change.events.add({ type: 'exported', what, filter, lines: linesOf(carried), sha256 }),
    );
    return { pdf, name, sha256 };
  }

  /** The signed head, that it only grew since the answer, and that what the answer names stands under it. */
  private async provenBy(told: Told, certificate: string): Promise<Pick<CarriedAnswer, 'named' | 'ledger'>> {
    const { read, proofs } = this.store;
    const wanted = revisionsIn(told);
    if (wanted.length > MOST_NAMED) throw tooMany(wanted.length);
    const named: Named[] = await read.trace.recorded(wanted);
    const ofSeal = (await read.events.of({ kind: 'key', key: certificate })).map(({ ledgerSeq }) => ledgerSeq);
    const head = await proofs.signedHead();
    const { proof } = await proofs.consistency(headOf(told).size, head.size);
    const seqs = [...new Set([...named.map(({ seq }) => seq), ...ofSeal])].sort((a, b) => a - b);
    return {
      named,
      ledger: {
        ...{ size: head.size, root: head.root, checkpoint: head.checkpoint, consistency: [...proof] },
        proofs: await proofs.inclusions(seqs, head.size),
      },
    };
  }
}

async function rendered(carried: CarriedAnswer): Promise<Uint8Array> {
  if (pool.isCompiled) return pool.run(sent(carried));
  const { renderAnswer } = await import('./render-answer.js');
  return renderAnswer(carried);
}

const tooMany = (count: number) =>
  new BadInputError([
    {
      code: 'too-many-things',
      field: 'id',
      found: `${count} things`,
      expected: `at most ${MOST_NAMED} things for a PDF`,
      remedy: 'narrow it by direction or by the time of use, or take the CSV, which has no such limit',
    },
  ]);

/** Rows of a table, or revisions that are proven. */
const linesOf = ({ told, named }: CarriedAnswer): number =>
  told.what === 'question' ? told.report.rows.length : named.length;

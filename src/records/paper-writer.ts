import { randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { Injectable } from '@nestjs/common';
import type { UnitResult } from '../assessment/assessment.js';
import { stepsAsked } from '../assessment/gates.js';
import { stamp } from '../base/clock.js';
import { AppError, NotFoundError } from '../base/errors.js';
import { programName } from '../base/settings.js';
import { LotAssessor } from '../lots/lot-assessor.js';
import { unitStatesOf } from '../lots/unit-decisions.js';
import type { UnitState } from '../lots/unit-states.js';
import { DECISION } from '../report/phrases/decision.js';
import { standardTemplate } from '../report/standard-template.js';
import { Store } from '../store/store.js';
import { plainName } from './bag.js';
import { type DecidedUnit, isReleased, mayBeLabelled, type PaperContent } from './papers/paper.js';

/** Labels of a lot, or of one case in it; the sheet of one unit for the theatre; the statement of one unit. */
export type PaperRequest =
  | { readonly paper: 'labels'; readonly forCase?: string | undefined }
  | { readonly paper: 'unit-sheet'; readonly serial: string }
  | { readonly paper: 'statement'; readonly serial: string };

export interface WrittenPaper {
  readonly paper: PaperRequest['paper'];
  readonly serials: readonly string[];
  readonly file: string;
  /** While one of its units may not go as far as the paper is meant for. */
  readonly draft: boolean;
}

/** Writes papers that go with units. They show what is; records alone are issued and kept in the ledger. */
@Injectable()
export class PaperWriter {
  constructor(
    private readonly store: Store,
    private readonly assessor: LotAssessor,
  ) {}

  /** @throws NotFoundError without such a lot, case or unit; as the paper asked for; ALTERED for what nobody signed. */
  async write(lot: string, actor: string, request: PaperRequest, out?: string): Promise<WrittenPaper> {
    const content = await this.contentOf(lot, actor);
    const serials = serialsFor(content, request);
    const pdf = await render(content, request, serials);
    const name =
      request.paper === 'labels'
        ? `labels-${lot}${request.forCase ? `-${request.forCase}` : ''}`
        : `${request.paper}-${request.serial}`;
    const file = path.resolve(out ?? path.join(this.store.folder.path, 'papers', `${plainName(name)}.pdf`));
    writeWhole(file, pdf);
    const draft = !serials.every((serial) =>
      (request.paper === 'labels' ? mayBeLabelled : isReleased)(content, serial),
    );
    return { paper: request.paper, serials, file, draft };
  }

  private async contentOf(lot: string, actor: string): Promise<PaperContent> {
    const { facts, dossierSha256, assessment } = await this.assessor.assess(lot, actor);
    const serials = facts.lot.body.implants.map(({ serial }) => serial);
    // A paper says that somebody released: no less is asked than of a record.
    const { signatures, events } = this.store.read;
    const rests = await signatures.withDigests(facts.signatures.map(({ digest }) => digest));
    await signatures.demand([...rests, ...(await signatures.of({ kind: 'lot file', key: lot }))]);
    await events.demand(await events.of({ kind: 'lot', key: lot }));
    const states = await unitStatesOf(this.store.read, lot, serials);
    return {
      facts,
      dossierSha256,
      units: assessment.units,
      checks: assessment.checks,
      decisions: new Map(
        states.map((state) => [
          state.serial,
          decidedOn(
            state,
            assessment.units.find(({ serial }) => serial === state.serial),
          ),
        ]),
      ),
      program: programName(),
      printedAt: stamp(this.store.clock).utc,
      printedBy: actor,
    };
  }
}

/**
 * A unit on hold is not to be used, whatever was decided before; nor is one whose verdict other rules changed, until
 * somebody has looked at that. A label is put on before the release for distribution, which asks for it: once the implant
 * is released for an earlier step, or where its route has none, once nothing but a gate keeps it.
 */
function decidedOn(
  { decision, statement, revoked, releasedFor, hold, unseenChanges }: UnitState,
  unit: UnitResult | undefined,
): DecidedUnit {
  const isTurned = unseenChanges.length > 0;
  const decided =
    statement === null
      ? DECISION.open
      : revoked
        ? DECISION.revokedOf(revoked.step, statement.person.name)
        : DECISION.by(statement);
  const words = [isTurned ? DECISION.turned : '', hold ? DECISION.onHold : '', decided].filter(Boolean).join('; ');
  const stands = hold === null && !isTurned;
  const isDue = unit !== undefined && stepsAsked(unit.gates).length === 1 && unit.releasable && decision !== 'rejected';
  return {
    words,
    isReleased: stands && releasedFor.includes('distribution'),
    mayBeLabelled: stands && (releasedFor.length > 0 || isDue),
  };
}

function serialsFor({ facts }: PaperContent, request: PaperRequest): string[] {
  if (request.paper !== 'labels') return [request.serial];
  const { forCase } = request;
  const implants = facts.lot.body.implants.filter((implant) => forCase === undefined || implant.case === forCase);
  if (implants.length === 0 && forCase !== undefined) {
    throw new NotFoundError(`case in lot ${facts.lot.body.lot}`, forCase);
  }
  if (implants.length === 0) throw new AppError('BAD_INPUT', `lot ${facts.lot.body.lot} has no implants to label`);
  return implants.map(({ serial }) => serial);
}

/** Loads what draws only now: drawing engine and fonts take a tenth of a second, and the service prints no papers. */
async function render(content: PaperContent, request: PaperRequest, serials: readonly string[]): Promise<Buffer> {
  if (request.paper === 'labels') {
    const { renderLabelSheet } = await import('./papers/label-sheet.js');
    return renderLabelSheet(content, serials);
  }
  if (request.paper === 'statement') {
    const { renderStatement } = await import('./papers/statement.js');
    return renderStatement(content, request.serial);
  }
  const { renderUnitSheet } = await import('./papers/unit-sheet.js');
  return renderUnitSheet(content, request.serial, standardTemplate().cautions);
}

function writeWhole(file: string, bytes: Buffer): void {
  fs.mkdirSync(path.dirname(file), { recursive: true });
  const temporary = `${file}.${randomUUID()}.part`;
  try {
    fs.writeFileSync(temporary, bytes, { mode: 0o600, flush: true });
    fs.renameSync(temporary, file);
  } finally {
    fs.rmSync(temporary, { force: true });
  }
}

import { randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { Injectable } from '@nestjs/common';
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
import type { PaperContent } from './papers/paper.js';

/** Labels of a lot, or of one case in it; the sheet of one unit for the theatre; the statement of one unit. */
export type PaperRequest =
  | { readonly paper: 'labels'; readonly forCase?: string | undefined }
  | { readonly paper: 'unit-sheet'; readonly serial: string }
  | { readonly paper: 'statement'; readonly serial: string };

export interface WrittenPaper {
  readonly paper: PaperRequest['paper'];
  readonly serials: readonly string[];
  readonly file: string;
  /** While one of its units is not released. */
  readonly draft: boolean;
}

/** Writes papers that go with units. They show what is; records alone are issued and kept in the ledger. */
@Injectable()
export class PaperWriter {
  constructor(
    private readonly store: Store,
    private readonly assessor: LotAssessor,
  ) {}

  /** @throws NotFoundError without such a lot, case or unit; as the paper asked for. */
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
    const draft = serials.some((serial) => content.decisions.get(serial)?.isReleased !== true);
    return { paper: request.paper, serials, file, draft };
  }

  private async contentOf(lot: string, actor: string): Promise<PaperContent> {
    const { facts, dossierSha256, assessment } = await this.assessor.assess(lot, actor);
    const serials = facts.lot.body.implants.map(({ serial }) => serial);
    const states = await unitStatesOf(this.store.read, lot, serials);
    return {
      facts,
      dossierSha256,
      units: assessment.units,
      checks: assessment.checks,
      decisions: new Map(states.map((state) => [state.serial, decisionOf(state)])),
      program: programName(),
      printedAt: stamp(this.store.clock).utc,
      printedBy: actor,
    };
  }
}

/**
 * A unit on hold is not to be used, whatever was decided before; nor is one whose verdict other rules changed, until
 * somebody has looked at that.
 */
function decisionOf({ decision, statement, hold, unseenChanges }: UnitState): { words: string; isReleased: boolean } {
  const name = statement?.person.name ?? '';
  const decided =
    decision === 'open'
      ? DECISION.open
      : decision === 'revoked'
        ? DECISION.revokedOf(name)
        : DECISION.by(decision, name);
  const isTurned = unseenChanges.length > 0;
  const words = [isTurned ? DECISION.turned : '', hold ? DECISION.onHold : '', decided].filter(Boolean).join('; ');
  return { words, isReleased: decision === 'released' && hold === null && !isTurned };
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

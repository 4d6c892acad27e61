import { Injectable } from '@nestjs/common';
import { AppError, NotFoundError } from '../base/errors.js';
import { lotFileSubject } from '../dossier/signable.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { type AssessedLot, LotAssessor } from '../lots/lot-assessor.js';
import { lotAddress } from '../report/page-addresses.js';
import { EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import { FACTS_SINCE, SHOWN, THINGS } from '../report/phrases/things.js';
import { isStillAs } from '../store/assemble-dossier.js';
import { Store } from '../store/store.js';
import { capabilityToSign } from './capability-subject.js';
import { documentToSign, qualificationToSign, receiptToSign, resultSheetToSign } from './document-subjects.js';
import { checkFindingToSign, logFindingsToSign, logFindingToSign } from './finding-subjects.js';
import { impactToSign } from './impact-subjects.js';
import { type LatestLot, once } from './lots-behind.js';
import { nonconformityToSign } from './nonconformity-subjects.js';
import { riskBuildToSign } from './risk-build-subject.js';
import type { Signable } from './signable.js';
import { changedThing } from './since-looked.js';
import { statementToSign } from './statement-subject.js';
import { stockPartToSign } from './stock-part-subject.js';
import type { Thing } from './thing.js';

/** How the lots behind things are read: for signing, which freezes and assesses what it signs, or for looking. */
interface LotsRead {
  readonly latest: LatestLot;
  readonly file: (lot: string) => Promise<Pick<Signable, 'outOfDate'> & { readonly assessed: AssessedLot }>;
}

/** Reads what stands behind the name of a thing. */
@Injectable()
export class Subjects {
  constructor(
    private readonly store: Store,
    private readonly assessor: LotAssessor,
    private readonly assessments: CurrentAssessments,
  ) {}

  /**
   * Things as they are signed: a lot file is frozen and assessed as the lot stands. Each lot behind them is read once,
   * however many findings of it there are.
   * @throws NotFoundError when there is no such thing; AppError CONFLICT when it is no longer what the name says.
   */
  readAll(things: readonly Thing[], actor: string): Promise<Signable[]> {
    const file = async (lot: string) => ({ assessed: await this.assessor.assess(lot, actor) });
    return this.readEach(things, { latest: once((lot) => this.upToDate(lot, actor)), file });
  }

  /**
   * The same for whoever looks: a lot file is the one that was stored last, and nothing is stored.
   * @throws as `readAll`; NotFoundError for a lot file that was never assessed.
   */
  lookAtAll(things: readonly Thing[]): Promise<Signable[]> {
    return this.readEach(things, this.looking());
  }

  /**
   * Whether things are still what was read of them. It only reads, so that it may be asked inside a change, where nobody
   * else writes.
   * @throws as `readAll`.
   */
  async areStill(things: readonly Thing[], signables: readonly Signable[]): Promise<boolean> {
    const lots = this.looking();
    for (const [index, thing] of things.entries()) {
      const { assessed, ...known } = signables[index]!;
      const isSame = assessed
        ? await this.isStill(assessed)
        : JSON.stringify(await this.readOne(thing, lots)) === JSON.stringify(known);
      if (!isSame) return false;
    }
    return true;
  }

  private looking(): LotsRead {
    return { latest: once((lot) => this.assessments.of(lot)), file: (lot) => this.storedFile(lot) };
  }

  private async storedFile(lot: string): ReturnType<LotsRead['file']> {
    const assessed = await this.assessments.of(lot);
    if (!assessed) throw new NotFoundError('assessment of lot', lot);
    if (assessed.ofEarlierVersion) return { assessed, outOfDate: EARLIER_VERSION };
    return (await this.isStill(assessed)) ? { assessed } : { assessed, outOfDate: FACTS_SINCE };
  }

  private isStill({ dossierSha256, dossierText }: AssessedLot): Promise<boolean> {
    return isStillAs(this.store.read, { digest: dossierSha256, body: dossierText });
  }

  /** Nobody signs on what an earlier version said: these rules assess the lot file first where they have not. */
  private async upToDate(lot: string, actor: string): Promise<AssessedLot | undefined> {
    const current = await this.assessments.of(lot);
    if (current && !current.ofEarlierVersion) return current;
    await this.assessor.assessAgain(lot, actor);
    return this.assessments.of(lot);
  }

  private async readEach(things: readonly Thing[], lots: LotsRead): Promise<Signable[]> {
    const found: Signable[] = [];
    for (const thing of things) found.push(await this.readOne(thing, lots));
    return found;
  }

  private async readOne(thing: Thing, lots: LotsRead): Promise<Signable> {
    const signable = await this.current(thing, lots);
    const changed = await changedThing(this.store.read, thing, signable);
    if (changed !== undefined) throw new AppError('CONFLICT', changed);
    return signable;
  }

  private async current(thing: Thing, { latest, file }: LotsRead): Promise<Signable> {
    const { read } = this.store;
    switch (thing.kind) {
      case 'certificate':
      case 'receipt':
        return receiptToSign(read, thing);
      case 'qualification':
        return qualificationToSign(read, thing);
      case 'result-set':
        return resultSheetToSign(read, thing);
      case 'log finding':
        return logFindingToSign(read, latest, thing);
      case 'log finding group':
        return logFindingsToSign(latest, thing);
      case 'check finding':
        return checkFindingToSign(latest, thing);
      case 'disposition':
      case 'nonconformity':
        return nonconformityToSign(read, latest, thing);
      case 'impact':
        return impactToSign(read, thing);
      case 'stock-part':
        return stockPartToSign(read, thing);
      case 'risk-build':
        return riskBuildToSign(read, thing);
      case 'custom statement':
        return statementToSign(latest, thing);
      case 'capability statement':
        return capabilityToSign(read, thing);
      case 'lot file':
        return this.lotFile(thing, file);
      default:
        return documentToSign(read, thing);
    }
  }

  private async lotFile({ key }: Thing, file: LotsRead['file']): Promise<Signable> {
    const read = await file(key);
    const { assessment, dossierSha256 } = read.assessed;
    return {
      subject: lotFileSubject(key, dossierSha256),
      title: THINGS.lotFile(key),
      lot: key,
      shows: assessment.units.map((unit) => [unit.serial, SHOWN.unit(unit)]),
      page: lotAddress(key),
      doers: {},
      ...read,
    };
  }
}

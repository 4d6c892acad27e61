import { Injectable } from '@nestjs/common';
import { RELEASE_STEPS, type ReleaseStep } from '../dossier/release-step.js';
import { timeText } from '../dossier/time-text.js';
import type { MovedPart } from '../kinds/lot-after-build.js';
import type { LotNow } from '../kinds/split-lot.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import type { LotLine } from '../lots/lot-line.js';
import { LotOverview } from '../lots/lot-overview.js';
import { LOT_STAGES } from '../lots/lot-stage.js';
import { Accounts } from '../people/accounts.js';
import { Actor } from '../people/actor.js';
import { LOT_PAGES, type LotPage, lotAddress } from '../report/page-addresses.js';
import { EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import { LOT_MOVES, LOT_PAGE_TITLES, LOT_STAGE_WORDS, lotSentence } from '../report/phrases/lot-header.js';
import { type Waiting, WaitingList } from '../signing/waiting-list.js';
import { nextStep } from './next-step.js';

/** A lot as its pages show it: the head that all of them have, and what they are made from. */
export interface LotFrame {
  readonly line: LotLine;
  readonly assessed: AssessedLot | undefined;
  /** What waits for a signature in this lot. */
  readonly waiting: readonly Waiting[];
  /** What the template of the head shows. */
  readonly head: object;
}

/** Gathers what every page of a lot shows above its own. */
@Injectable()
export class LotFrames {
  constructor(
    private readonly overview: LotOverview,
    private readonly current: CurrentAssessments,
    private readonly waitingList: WaitingList,
    private readonly accounts: Accounts,
    private readonly actor: Actor,
  ) {}

  /** @throws NotFoundError when there is no such lot. */
  async of(lot: string, page: LotPage | null): Promise<LotFrame> {
    const assessed = await this.current.of(lot);
    const line = await this.overview.of(lot);
    const waiting = await this.waitingList.ofLots([lot]);
    const names = new Map([...(await this.accounts.people())].map(([code, { name }]) => [code, name]));
    const readsOnly = this.actor.session.acting.some(({ role }) => role === 'auditor');
    return {
      line,
      assessed,
      waiting,
      head: {
        lot,
        page,
        cases: line.cases,
        neededBy: line.neededBy,
        family: line.family,
        sentence: lotSentence(countsOf(line, assessed)),
        moves: assessed ? movesView(assessed.facts.lot.body) : [],
        earlierVersion: line.ofEarlierVersion ? EARLIER_VERSION : null,
        stages: LOT_STAGES.map((stage, place) => ({
          says: LOT_STAGE_WORDS[stage],
          behind: place <= LOT_STAGES.indexOf(line.stage),
          now: stage === line.stage,
        })),
        next: nextStep({ line, waiting, person: this.actor.person, readsOnly, names }),
        pages: LOT_PAGES.map((name) => ({
          name,
          title: LOT_PAGE_TITLES[name],
          href: lotAddress(lot, name),
          isHere: name === page,
        })),
      },
    };
  }
}

/** Which units left the lot or came over, and where the others of their build are. */
function movesView({ moved = [], came = [], splitFrom }: LotNow) {
  const byMove = new Map<string, MovedPart[]>();
  for (const one of [...moved, ...came]) byMove.set(one.move, [...(byMove.get(one.move) ?? []), one]);
  return [...byMove].map(([move, parts]) => {
    const other = splitFrom ?? parts[0]!.lot;
    const told = { parts: parts.map(({ part }) => part), move, at: timeText(parts[0]!.at) };
    return {
      says: splitFrom === undefined ? LOT_MOVES.left(told) : LOT_MOVES.came(told),
      other,
      href: lotAddress(other),
    };
  });
}

function countsOf({ units }: LotLine, assessed: AssessedLot | undefined) {
  const count = (isMeant: (unit: LotLine['units'][number]) => boolean) => units.filter(isMeant).length;
  const released = (step: ReleaseStep) => count(({ releasedFor }) => releasedFor.at(-1) === step);
  const may = new Set(
    (assessed?.assessment.units ?? [])
      .filter(({ releasable, releasableFor }) => releasable || releasableFor.length > 0)
      .map(({ serial }) => serial),
  );
  const isOpen = ({ releasedFor, decision, verdict }: LotLine['units'][number]) =>
    releasedFor.length === 0 && decision !== 'rejected' && verdict !== 'not assessed';
  return {
    released: Object.fromEntries(RELEASE_STEPS.map((step) => [step, released(step)])) as Record<ReleaseStep, number>,
    rejected: count(({ decision }) => decision === 'rejected'),
    mayBeReleased: count((unit) => isOpen(unit) && may.has(unit.serial) && unit.hold === null),
    mayNot: count((unit) => isOpen(unit) && (!may.has(unit.serial) || unit.hold !== null)),
    notAssessed: count(({ verdict }) => verdict === 'not assessed'),
  };
}

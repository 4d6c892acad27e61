import { Injectable } from '@nestjs/common';
import { DesignAnswers } from '../../design-file/design-answers.js';
import type { Role } from '../../dossier/statement.js';
import type { Lot } from '../../kinds/lot.js';
import { FamilyStudies } from '../../lots/family-studies.js';
import type { LotLine } from '../../lots/lot-line.js';
import { Drafts } from '../../people/drafts.js';
import { findingPictureAddress, lotAddress } from '../../report/page-addresses.js';
import { actNameText } from '../../report/phrases/acts.js';
import { capital } from '../../report/phrases/capital.js';
import { TODAY } from '../../report/phrases/today.js';
import { handedSheets } from '../../sheets/handed-sheets.js';
import { LotOutlooks } from '../../signing/lot-outlook.js';
import type { Waiting } from '../../signing/waiting-list.js';
import { currentLot } from '../../store/lots-now.js';
import { Store } from '../../store/store.js';
import { type WaitingLine, waitingLines } from '../waiting-lines.js';
import { CustodyDuties } from './custody-duties.js';
import { draftDuties } from './draft-duties.js';
import type { Duty } from './duty.js';
import { KeptAnswers } from './kept-answers.js';
import { assessDuties, buildDuties, changedVerdictDuties, holdDuties, sheetDuties, testDuties } from './lot-duties.js';
import { outlookDuties } from './outlook-duties.js';
import { ReleaseSummaries } from './release-summaries.js';
import { endingDuties } from './site-duties.js';

/** Who asks, and what the page has read already. */
export interface Asker {
  readonly person: string;
  readonly roles: readonly Role[];
  /** Lots that are not decided. */
  readonly open: readonly LotLine[];
  readonly lots: readonly LotLine[];
  readonly waiting: readonly Waiting[];
}

/** What each role is told of, besides what waits for its signature. */
type Source = (asker: Asker) => Promise<readonly Duty[]> | readonly Duty[];

/** What a person should do or know today, by the roles in which they act. */
@Injectable()
export class Duties {
  private readonly kept: KeptAnswers;

  constructor(
    private readonly store: Store,
    studies: FamilyStudies,
    private readonly custody: CustodyDuties,
    private readonly outlooks: LotOutlooks,
    designs: DesignAnswers,
    private readonly drafts: Drafts,
    private readonly summaries: ReleaseSummaries,
  ) {
    this.kept = new KeptAnswers(store, studies, designs);
  }

  /** Asks what rests on all documents of some kinds, so that it is there when a page asks. */
  askAhead(): Promise<void> {
    return this.kept.ahead();
  }

  async of(asker: Asker): Promise<Duty[]> {
    const { person, roles, waiting } = asker;
    const sources = new Set(roles.flatMap((role) => this.sources[role] ?? []));
    const states = new Map(asker.lots.map(({ lot, state }) => [lot, state]));
    const stale = new Set(asker.lots.flatMap((one) => (one.outOfDate || one.ofEarlierVersion ? [one.lot] : [])));
    const found: Duty[] = [];
    for (const line of waitingLines(waiting.filter(({ who }) => who.includes(person)))) {
      const isRelease = line.meaning === 'released' && line.lot !== null;
      const summary = isRelease
        ? { summary: stale.has(line.lot) ? [TODAY.stale] : await this.summaries.of(line.lot) }
        : {};
      found.push({ ...signatureDuty(line, states), ...summary });
    }
    for (const source of sources) found.push(...(await source(asker)));
    const today = this.store.clock.now().toISOString().slice(0, 10);
    return found.map((duty) => ({ ...duty, overdue: duty.overdue || (duty.by !== null && duty.by < today) }));
  }

  private readonly builds: Source = async ({ open }) => buildDuties(await this.planned(open));
  private readonly tests: Source = ({ open }) => testDuties(open);
  private readonly sheets: Source = async ({ person }) => sheetDuties(await handedSheets(this.store.read), person);
  private readonly begun: Source = async ({ person }) => draftDuties(await this.drafts.ofPerson(person));
  private readonly assess: Source = ({ open }) => assessDuties(open);
  private readonly ahead: Source = ({ open }) => outlookDuties(this.outlooks, open);
  private readonly holds: Source = ({ lots }) => holdDuties(lots);
  private readonly changed: Source = ({ lots }) => changedVerdictDuties(lots);
  private readonly signals: Source = () => this.kept.signals();
  private readonly cases: Source = () => this.kept.cases();
  private readonly nonconformities: Source = () => this.kept.nonconformities();
  private readonly corrective: Source = () => this.kept.corrective();
  private readonly gaps: Source = () => this.kept.gaps();
  private readonly nobodys: Source = ({ waiting }) => nobodyDuties(waiting);

  /** Lots of which something is still to be built. */
  private async planned(open: readonly LotLine[]): Promise<Lot[]> {
    const { entries } = this.store.read;
    const lots = open.filter(({ stage }) => stage === 'planned').map(({ lot }) => currentLot({ entries }, lot));
    return Promise.all(lots);
  }

  private ending(...sorts: Parameters<typeof endingDuties>[1]): Source {
    return async () => endingDuties(await this.kept.ending(), sorts);
  }

  private readonly materials = this.ending('material');
  private readonly equipment = this.ending('calibration', 'upkeep');
  private readonly trainings = this.ending('qualification');
  private readonly validations = this.ending('validation');
  private readonly permissions = this.ending('permission');

  private readonly sources: Readonly<Record<Role, readonly Source[]>> = {
    operator: [this.builds, this.tests, this.sheets, this.begun, this.materials, this.equipment, this.assess],
    analyst: [this.tests, this.sheets, this.begun, this.equipment, this.assess],
    'case designer': [this.cases, this.begun],
    'process engineer': [
      this.begun,
      this.gaps,
      this.signals,
      this.corrective,
      this.validations,
      this.materials,
      this.equipment,
      this.assess,
    ],
    'quality engineer': [
      this.begun,
      this.gaps,
      this.ahead,
      this.assess,
      this.holds,
      this.changed,
      this.nonconformities,
      this.corrective,
      this.nobodys,
      this.equipment,
      this.materials,
      this.trainings,
      this.validations,
    ],
    releaser: [this.ahead, this.holds, this.assess, this.begun],
    regulatory: [this.permissions, this.holds, this.begun],
    administrator: [(asker) => this.custody.of(asker.person), this.nobodys],
    auditor: [() => questions()],
  };
}

/** One act of signing, which may cover several things. */
const signatureDuty = (
  { title, act, meaning, finding, lot, units, neededBy, href, count, ofLotFile }: WaitingLine,
  states: ReadonlyMap<string, string>,
): Duty => ({
  topic: meaning === 'decided' ? 'decide' : 'sign',
  ...(finding === null || lot === null
    ? {}
    : { picture: { src: findingPictureAddress(lot, finding), alt: TODAY.aroundFinding } }),
  what: ofLotFile ? capital(states.get(lot!) ?? title) : title,
  of: lot === null ? null : { text: lot, href: lotAddress(lot) },
  units,
  by: neededBy,
  overdue: false,
  button: { text: `${capital(actNameText(act))}${count > 1 ? `, ${TODAY.alike(count)}` : ''}`, href },
});

/** What nobody may sign, an act in a line: somebody has to be given a role, or a training has to be approved. */
function nobodyDuties(waiting: readonly Waiting[]): Duty[] {
  const acts = new Map<string, WaitingLine[]>();
  for (const line of waitingLines(waiting.filter(({ who }) => who.length === 0))) {
    acts.set(line.act, [...(acts.get(line.act) ?? []), line]);
  }
  return [...acts].map(([act, lines]) => ({
    topic: 'sign',
    what: TODAY.nobodyMay(
      actNameText(act),
      lines.map(({ title }) => title),
    ),
    of: null,
    units: [],
    by: lines[0]!.neededBy,
    overdue: false,
    button: { text: TODAY.seePeople, href: '/people' },
  }));
}

/** What an auditor usually asks first. Each leads to where it is answered. */
const questions = (): Duty[] =>
  TODAY.questions.map(({ what, href }) => ({
    topic: 'question',
    what,
    of: null,
    units: [],
    by: null,
    overdue: false,
    button: { text: TODAY.look, href },
  }));

import fs from 'node:fs';
import path from 'node:path';
import { gzipSync } from 'node:zlib';
import { stringify } from 'yaml';
import type { UnitResult } from '../assessment/assessment.js';
import { systemClock } from '../base/clock.js';
import { AppError, BadInputError } from '../base/errors.js';
import { withFeatures } from '../cli/features.js';
import { Baselines } from '../design-file/baselines.js';
import { ChangeLists } from '../design-file/change-lists.js';
import { DesignFileModule } from '../design-file/design-file.module.js';
import { Intake } from '../intake/intake.js';
import { IntakeModule } from '../intake/intake.module.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { LotAssessor } from '../lots/lot-assessor.js';
import { AccountActs } from '../people/account-acts.js';
import { AccountLinks } from '../people/account-links.js';
import { Accounts } from '../people/accounts.js';
import { RecordIssuer } from '../records/record-issuer.js';
import { RecordsModule } from '../records/records.module.js';
import { reasonsInWords } from '../report/assessment-words.js';
import { DEMO_LINES } from '../report/phrases/commands/qualification.js';
import type { Words } from '../report/phrases/phrase.js';
import { verdictCounts } from '../report/phrases/verdicts.js';
import { SigningModule } from '../signing/signing.module.js';
import { ENGINE } from '../store/chosen-engine.js';
import { DataFolder } from '../store/data-folder.js';
import { Store } from '../store/store.js';
import { TraceModule } from '../trace/trace.module.js';
import { Tracer } from '../trace/tracer.js';
import { CapabilityStating } from '../trend/capability-stating.js';
import { FamilyTrend } from '../trend/family-trend.js';
import { TrendModule } from '../trend/trend.module.js';
import { COST_OF_DEMO, makeDemoPeople } from './demo-people.js';
import { designMoments } from './designs/played-designs.js';
import { FAMILY } from './names.js';
import { pinMoves } from './pins/pin-lot.js';
import { type Act, acts, CLOSINGS, EARLIER_LOT_WITH_RECORD, LAST_DAY, LOTS_TO_CLOSE } from './scenario.js';
import { DemoSigner } from './sign-demo.js';
import { statedMoment } from './stated-capability.js';
import { STOCK_ACTS } from './stock/stock-lot.js';
import { type Move, STORY_MOVES } from './stories/acts.js';
import { FirstFindings } from './stories/first-findings.js';
import { Drill } from './stories/hold-drill.js';
import { STORY_LOTS } from './stories/three-lots.js';
import { STRIP_ACTS, type StripAct } from './strips/strip-lots.js';
import { outcomesMoment } from './strips/strip-outcomes.js';
import { WINDOW_MOVES } from './windows/window-lot.js';

export interface DemoResult {
  readonly folder: string;
  readonly lots: {
    readonly lot: string;
    readonly units: readonly (Omit<UnitResult, 'why'> & { readonly why: readonly Words[] })[];
    readonly record: { readonly number: string; readonly file: string };
  }[];
}

const ACTOR = 'local:demo';
const FEATURES = [IntakeModule, SigningModule, RecordsModule, TraceModule, TrendModule, DesignFileModule];

/** Writes the files of an act below the folder of the scenario. Equal acts write equal bytes. */
export function writeAct({ folder, files }: Pick<Act, 'folder' | 'files'>, scenario: string): string {
  const { documents, texts, bytes = {}, gzip } = files();
  const root = path.join(scenario, folder);
  const write = (name: string, content: string | Buffer) => {
    const file = path.join(root, name);
    fs.mkdirSync(path.dirname(file), { recursive: true });
    fs.writeFileSync(file, content);
  };
  // Written out each time: nobody types anchors and aliases by hand.
  for (const [name, document] of Object.entries(documents)) {
    write(name, stringify(document, { aliasDuplicateObjects: false }));
  }
  for (const [name, text] of Object.entries(texts)) {
    if (gzip && name.includes('/logs/')) write(`${name}.gz`, gzipSync(text, { level: 1 }));
    else write(name, text);
  }
  for (const [name, content] of Object.entries(bytes)) write(name, content);
  return root;
}

/**
 * Plays the invented scenario in a fresh data folder, on a demo clock that stops at its last day, and writes the records
 * of the lots to close and of one earlier lot.
 * @throws AppError REFUSED when the folder holds anything but a demo: nobody's data is ever replaced. CONFLICT when its
 * `folder.json` cannot be read, BUSY when a service runs on it.
 */
export async function runDemo({ folder, say }: { folder: string; say: (line?: string) => void }): Promise<DemoResult> {
  const [first] = acts();
  removeFormerDemo(folder);
  const data = DataFolder.createDemo(folder, first!.at, { toTheEnd: true });
  const scenario = path.join(folder, 'scenario');
  return withFeatures(data, FEATURES, async (context) => {
    const intake = context.get(Intake);
    const issuer = context.get(RecordIssuer);
    const current = context.get(CurrentAssessments);
    const peopleServices = {
      accounts: context.get(Accounts),
      accountActs: context.get(AccountActs),
      accountLinks: new AccountLinks(context.get(Store), context.get(Accounts), systemClock, COST_OF_DEMO),
    };
    say(DEMO_LINES.playing(folder));
    const { people, file: peopleFile } = await makeDemoPeople(peopleServices, folder);
    const signer = new DemoSigner(context, people);
    const drill = new Drill(context.get(Store), context.get(Tracer));
    const assessor = context.get(LotAssessor);
    const findings = new FirstFindings(assessor);
    const takeIn = async (act: Pick<Act, 'folder' | 'files'>) => {
      await intake.run(writeAct(act, scenario), ACTOR);
    };
    const bringIn = async (act: Pick<Act, 'folder' | 'files'>) => {
      await takeIn(act);
      await signer.signWhatCameIn();
    };
    /** Lots of before this program: nobody signs them here any more. */
    const bringInBulk = async (act: StripAct) => {
      await bringIn(act);
      for (const lot of act.lots) await assessor.assess(lot, ACTOR);
    };
    const turnAway = async ({ title, code, ...move }: Extract<Move, { does: 'be turned away' }>) => {
      try {
        // Beside the scenario, all of which can be taken in again.
        await intake.run(writeAct(move, path.join(folder, 'turned-away')), ACTOR);
      } catch (error) {
        if (error instanceof BadInputError && error.problems.some((problem) => problem.code === code)) return;
        throw error;
      }
      throw new AppError('UNEXPECTED', `${title} was to be refused by ${code}, and was taken in`);
    };
    const play = async (move: Move) => {
      if (move.does === 'bring in') {
        const findingOf = await findings.of(move.about);
        await bringIn({ folder: move.folder, files: () => move.files(findingOf) });
      } else if (move.does === 'record') await move.record(path.join(folder, 'recordings'));
      else if (move.does === 'be turned away') await turnAway(move);
      else if (move.does === 'assess') await assessor.assess(move.lot, ACTOR);
      else if (move.does === 'reject') await signer.reject(move);
      else if (move.does === 'be refused') await signer.beRefused(move.lot);
      else if (move.does === 'begin a drill') await bringIn(await drill.begun());
      else if (move.does === 'close a drill') await bringIn(await drill.closed());
      else await signer.closeOut(move.lot);
    };
    const moments = [
      ...CLOSINGS.map(({ lot, at }) => ({ at, happen: () => signer.closeOut(lot) })),
      ...[...STORY_MOVES, ...pinMoves(), ...WINDOW_MOVES].map((move) => ({ at: move.at, happen: () => play(move) })),
      ...acts().map((act) => ({ at: act.at, happen: () => bringIn(act) })),
      ...designMoments({
        ...{ baselines: context.get(Baselines), changes: context.get(ChangeLists), actor: ACTOR, takeIn },
        sign: () => signer.signWhatCameIn(),
        assess: async (lot) => void (await assessor.assess(lot, ACTOR)),
      }),
      statedMoment({
        ...{ stating: context.get(CapabilityStating), actor: ACTOR },
        review: () => signer.reviewStatements(),
      }),
      outcomesMoment({ trend: context.get(FamilyTrend), bringIn }),
      ...[...STRIP_ACTS, ...STOCK_ACTS].map((act) => ({ at: act.at, happen: () => bringInBulk(act) })),
    ].sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
    for (const { at, happen } of moments) {
      data.advanceTo(at);
      await happen();
    }
    data.advanceTo(LAST_DAY);
    const recordOf = async (lot: string): Promise<DemoResult['lots'][number]> => {
      const { number, file } = await issuer.issue(lot, ACTOR);
      const { assessment } = (await current.of(lot))!;
      const units = assessment.units.map((unit) => ({ ...unit, why: reasonsInWords(assessment.checks, unit.why) }));
      return { lot, units, record: { number, file } };
    };
    // A record compares with that of the lot before in its family; while one is drawn, that of another family is gathered.
    const lots = (
      await Promise.all([[EARLIER_LOT_WITH_RECORD, ...LOTS_TO_CLOSE], STORY_LOTS].map((own) => inTurn(own, recordOf)))
    ).flat();
    data.endsPlay();
    for (const lot of lots) sayLot(lot, say);
    sayNext({ folder, record: lots[0]!.record.file, peopleFile }, say);
    return { folder, lots };
  });
}

async function inTurn<T, U>(items: readonly T[], work: (item: T) => Promise<U>): Promise<U[]> {
  const done: U[] = [];
  for (const item of items) done.push(await work(item));
  return done;
}

function removeFormerDemo(folder: string): void {
  if (!fs.existsSync(folder)) return;
  if (!DataFolder.holdsDemo(folder)) {
    throw new AppError('REFUSED', `${folder} exists and is no demo folder; name another with --data`, { folder });
  }
  // Pages over a folder that is gone would show half of it.
  ENGINE.takeServiceLock(folder).close();
  fs.rmSync(folder, { recursive: true });
}

function whatIs(lot: string): Parameters<typeof DEMO_LINES.lot>[1] {
  if (STORY_LOTS.includes(lot)) return 'story';
  return LOTS_TO_CLOSE.includes(lot) ? 'toClose' : 'earlier';
}

function sayLot({ lot, units, record }: DemoResult['lots'][number], say: (line?: string) => void): void {
  const counts = verdictCounts(units.map((unit) => unit.verdict));
  say();
  say(DEMO_LINES.lot(lot, whatIs(lot), counts));
  for (const unit of units) {
    say(DEMO_LINES.unit(unit.serial, unit.verdict));
    for (const why of unit.why) say(DEMO_LINES.why(why.says));
  }
  say(DEMO_LINES.record(record.number, record.file));
}

function sayNext(
  { folder, record, peopleFile }: { folder: string; record: string; peopleFile: string },
  say: (line?: string) => void,
): void {
  say();
  say(DEMO_LINES.people(peopleFile));
  say();
  say(DEMO_LINES.lookAround);
  for (const command of DEMO_LINES.commands(folder, record, FAMILY)) say(command);
}

import type { Assessment } from '../assessment/assessment.js';
import { stepsAsked } from '../assessment/gates.js';
import { type PartsDocument, partsSaid } from '../assessment/parts-in-lot.js';
import type { ReleaseStep } from '../dossier/release-step.js';
import { findingSubject, lotFileSubject, revisionSubject } from '../dossier/signable.js';
import type { Lot } from '../kinds/lot.js';
import { fateOf } from '../kinds/lot-after-build.js';
import type { LotNow } from '../kinds/split-lot.js';
import { type CurrentAssessment, currentAssessment } from '../lots/current-assessment.js';
import type { Made } from '../lots/make-kept.js';
import { unitStatesOf } from '../lots/unit-decisions.js';
import type { UnitState } from '../lots/unit-states.js';
import { findingWords } from '../report/assessment-words.js';
import { THINGS } from '../report/phrases/things.js';
import { currentLot, logsOf, resultsOf } from '../store/lots-now.js';
import type { Reads } from '../store/repositories.js';
import { FINDING_DIGITS } from './finding-subjects.js';
import { aheadOf, type LotSigning } from './lot-ahead.js';
import { type Open, pendingAmong } from './pending.js';
import { doersOfLot, findingIdsOf } from './situation.js';
import { unitObjection } from './unit-objection.js';

/** What is kept of the signatures of a lot: those that are missing, whoever may give them, and what lies ahead of it. */
export async function make(read: Reads, code: string): Promise<Made<LotSigning>> {
  const value = await signingOf(read, code);
  const [first] = value.pending;
  return {
    value,
    marks: { closed: first === undefined, asks: false, awaiting: false, neededBy: first?.neededBy ?? '9999' },
  };
}

async function signingOf(read: Reads, code: string): Promise<LotSigning> {
  const lot = await currentLot(read, code);
  const serials = lot.implants.map((implant) => implant.serial);
  const states = await unitStatesOf(read, code, serials);
  const undecided = states.filter(
    ({ serial, decision, releasedFor }) =>
      decision !== 'rejected' && !releasedFor.includes('distribution') && fateOf(lot, serial) === undefined,
  );
  // A lot of which everything is decided waits for nobody: most lots, after a few years.
  if (serials.length > 0 && undecided.length === 0) return { lot: code, pending: [], ahead: null };
  const ahead = await aheadOf(read, lot);
  // Nor does one that waits for its load.
  const isWaiting = serials.length > 0 && undecided.every((unit) => isAwaitingLoad(lot, unit));
  return {
    lot: code,
    pending: isWaiting ? [] : await pendingAmong(read, await openOfLot(read, lot, undecided)),
    ahead,
  };
}

/** The earliest day on which one of its implants is needed. */
async function earliestNeed(read: Reads, { implants }: Lot): Promise<string | null> {
  const days: string[] = [];
  for (const code of new Set(implants.map((implant) => implant.case))) {
    const found = await read.entries.current('case', code);
    if (found) days.push(found.body.neededBy);
  }
  return days.sort()[0] ?? null;
}

async function openOfLot(read: Reads, lot: LotNow, undecided: readonly UnitState[]): Promise<Open[]> {
  const key = lot.lot;
  const neededBy = await earliestNeed(read, lot);
  const common = { lot: key, neededBy };
  const results = (await read.results.ofLot(key)).rows;
  const current = await currentAssessment(read, key);
  const assessment = current?.assessment;
  const open: Open[] = [
    ...(await resultSets(read, key, results)).map((item) => ({ ...item, ...common })),
    ...statementsOf(assessment).map((item) => ({ ...item, ...common })),
    ...(assessment?.checks ?? []).flatMap((check) =>
      check.findings.flatMap((finding): Open[] => {
        // A finding about something else may name a log finding beside it; that one is told by its own.
        const [found] = finding.subjects;
        if (found?.kind !== 'log finding' && found?.kind !== 'log finding group') return [];
        const short = found.key.slice(0, FINDING_DIGITS);
        const subject =
          found.kind === 'log finding'
            ? findingSubject('log finding', short, found.key)
            : findingSubject('log finding group', `${key}:${short}`, found.key);
        const group = `${key} ${finding.rule} ${finding.facts.channel ?? ''} ${finding.facts.level ?? ''}`;
        return [{ ...common, subject, title: findingWords(check.code, finding).says, meaning: 'decided', group }];
      }),
    ),
    ...(assessment?.checks ?? []).flatMap((check) =>
      check.findings
        .filter((finding) => finding.mayBeDecided === 'decision')
        .map((finding): Open => {
          const subject = findingSubject('check finding', `${key}:${finding.id.slice(0, FINDING_DIGITS)}`, finding.id);
          return {
            ...common,
            subject,
            title: findingWords(check.code, finding).says,
            meaning: 'decided',
            group: `${key} ${check.code} ${finding.rule}`,
          };
        }),
    ),
  ];
  return [...open, ...(current ? await lotFile(read, lot, current, common, undecided) : [])];
}

async function resultSets(
  read: Reads,
  lot: string,
  rows: Awaited<ReturnType<Reads['results']['ofLot']>>['rows'],
): Promise<Open[]> {
  const names = (values: readonly string[]) => [...new Set(values)].filter((value) => value !== '').sort();
  return (await read.entries.revisionsStarting('result-set', `${lot}:`)).flatMap((set): Open[] => {
    const { file, evidence } = set.body;
    const own = rows.filter((row) => row.evidence === evidence && row.status === 'current');
    const typists = names(own.map((row) => row.enteredBy));
    const subject = revisionSubject(set);
    return [
      ...names(own.map((row) => row.analyst)).map(
        (analyst): Open => ({
          subject,
          title: THINGS.measured(analyst, file),
          meaning: 'performed',
          only: [analyst],
        }),
      ),
      ...(typists.length > 0
        ? [
            {
              subject,
              title: THINGS.typed(typists, file),
              meaning: 'checked' as const,
              doers: { typist: typists },
              named: names(own.map((row) => row.checkedBy)),
            },
          ]
        : []),
    ];
  });
}

async function lotFile(
  read: Reads,
  lot: LotNow,
  { dossierSha256, assessment }: CurrentAssessment,
  common: { lot: string; neededBy: string | null },
  undecided: readonly UnitState[],
): Promise<Open[]> {
  const subject = lotFileSubject(lot.lot, dossierSha256);
  const reviewed = (await read.signatures.on([dossierSha256])).some(
    ({ signed }) => signed.statement.meaning === 'reviewed',
  );
  const logParts = (await logsOf(read, lot)).map((log) => log.part);
  const parts = partsSaid(
    [{ kind: 'lot', key: lot.lot, body: lot }, ...(await loadsOf(read, lot))],
    (await resultsOf(read, lot)).rows,
  );
  const doers = await doersOfLot(read, lot.lot, parts, findingIdsOf(logParts, assessment));
  if (!reviewed) return [{ ...common, subject, doers, title: THINGS.lot(lot.lot), meaning: 'reviewed' }];
  const isFree = (serial: string, step: ReleaseStep) =>
    unitObjection({ lot, assessment, states: undecided, meaning: 'released', step, units: [serial] }) === undefined;
  const steps = stepsAsked(assessment.units.flatMap(({ gates }) => gates));
  const releases = steps.flatMap((step): Open[] => {
    const units = undecided.map(({ serial }) => serial).filter((serial) => isFree(serial, step));
    if (units.length === 0) return [];
    return [{ ...common, subject, doers, title: THINGS.units(units), meaning: 'released', step, units }];
  });
  const isHeld = ({ serial, releasedFor }: UnitState) =>
    !steps.some((step) => isFree(serial, step)) && (releasedFor.length === 0 ? !isClear(serial) : isBad(serial));
  const isClear = (serial: string) => assessment.releasable.includes(serial);
  // One that was released may wait for results that are due later, and is told only when something is known against it.
  const isBad = (serial: string) =>
    assessment.units.some(
      (unit) =>
        unit.serial === serial && unit.why.some(({ conceded, before }) => !conceded && before === 'sterilisation'),
    );
  const others = undecided.filter(isHeld).map(({ serial }) => serial);
  return [
    ...releases,
    ...(others.length > 0
      ? [
          {
            ...common,
            subject,
            doers,
            title: THINGS.unitsHeldBack(others),
            meaning: 'rejected' as const,
            units: others,
          },
        ]
      : []),
  ];
}

/** Loads in which parts of a lot were: whoever ran one did a step of its making. */
async function loadsOf(read: Reads, { steps }: Lot): Promise<PartsDocument[]> {
  const codes = [...new Set(steps.flatMap(({ load }) => load ?? []))];
  const found = await Promise.all(codes.map((code) => read.entries.current('process-load', code)));
  return found.flatMap((load) => load ?? []);
}

/** Released for sterilisation, and no sterile load is on record yet. */
const isAwaitingLoad = ({ steps }: Lot, { serial, releasedFor }: UnitState): boolean =>
  releasedFor.length > 0 &&
  !steps.some(({ step, parts }) => step === 'sterilise' && (parts === undefined || parts.includes(serial)));

/** Statements of custom-made devices that nobody has signed as they read now. */
function statementsOf(assessment: Assessment | undefined): Open[] {
  const check = assessment?.checks.find(({ code }) => code === 'statement-signed');
  return (check?.findings ?? []).flatMap(({ rule, facts, subjects: [on] }): Open[] => {
    const { statement: digest, unit } = facts;
    if (rule !== 'not signed' || on === undefined || digest === undefined || unit === undefined) return [];
    const [lot = ''] = on.key.split(':');
    return [{ subject: { ...on, revision: null, digest }, title: THINGS.statement(unit, lot), meaning: 'approved' }];
  });
}

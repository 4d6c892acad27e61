import type { CheckCode } from '../../assessment/checks/check-code.js';
import type { Lot } from '../../kinds/lot.js';
import type { LotLine } from '../../lots/lot-line.js';
import { lotsToAssess } from '../../lots/to-assess.js';
import { ASSESS_AGAIN, lotAddress, sheetsAddress } from '../../report/page-addresses.js';
import { TODAY } from '../../report/phrases/today.js';
import { type HandedSheet, methodOf } from '../../sheets/handed-sheets.js';
import type { Duty } from './duty.js';

/** What the state of open lots asks of people, besides signatures. */

const ofLot = ({ lot }: Pick<LotLine, 'lot'>) => ({ text: lot, href: lotAddress(lot) });

/** Builds that are planned, the next first. */
export function buildDuties(lots: readonly Lot[]): Duty[] {
  return lots
    .flatMap((lot) => lot.builds.filter(({ state }) => state === 'planned').map((build) => ({ lot, build })))
    .sort((a, b) => (a.build.closedAt < b.build.closedAt ? -1 : 1))
    .map(({ lot, build }) => ({
      topic: 'make',
      what: TODAY.build(build.build, build.machine),
      of: ofLot(lot),
      units: lot.implants.filter((implant) => implant.build === build.build).map(({ serial }) => serial),
      by: build.closedAt.slice(0, 10),
      overdue: false,
      button: { text: TODAY.seeBuild, href: lotAddress(lot.lot, 'build') },
    }));
}

const RESULTS_COMPLETE: CheckCode = 'results-complete';

/** Lots whose planned values are not all there. */
export const testDuties = (lines: readonly LotLine[]): Duty[] =>
  lines.flatMap((line) => {
    const missing = line.blockers.filter(({ check }) => check === RESULTS_COMPLETE);
    if (missing.length === 0) return [];
    const units = [...new Set(missing.flatMap((blocker) => blocker.units))].sort();
    return [
      {
        topic: 'make' as const,
        what: TODAY.valuesMissing(missing.length, missing[0]!.says),
        of: ofLot(line),
        units,
        by: line.neededBy,
        overdue: false,
        button: { text: TODAY.typeResults, href: sheetsAddress(line.lot) },
      },
    ];
  });

/** More lots than these that wait for the same are one line, that of the soonest. */
const MOST_ALIKE = 4;

export function assessDuties(lines: readonly LotLine[]): Duty[] {
  const open = lotsToAssess(lines);
  if (open.length > MOST_ALIKE) {
    const days = open.flatMap((line) => dueOf(line) ?? []).sort();
    const what = TODAY.assessMany(open.map(({ lot }) => lot));
    const button = { text: TODAY.assessThem, href: ASSESS_AGAIN };
    return [{ topic: 'make', what, of: null, units: [], by: days[0] ?? null, overdue: false, button }];
  }
  return open.map((line) => ({
    topic: 'make',
    what: line.assessed ? TODAY.assessAgain : TODAY.assess,
    of: ofLot(line),
    units: [],
    by: dueOf(line),
    overdue: false,
    button: { text: TODAY.seeLot, href: lotAddress(line.lot) },
  }));
}

/** Nothing is due of a lot all of whose implants are decided. */
const dueOf = ({ units, neededBy }: LotLine): string | null =>
  units.every(({ decision }) => decision === 'released' || decision === 'rejected') ? null : neededBy;

/** Result sheets that a second person has to type, who is not the one who typed them. */
export const sheetDuties = (handed: readonly HandedSheet[], person: string): Duty[] =>
  handed
    .filter((sheet) => sheet.person !== person)
    .map((sheet) => ({
      topic: 'make',
      what: TODAY.typeAgain(methodOf(sheet), sheet.person),
      of: ofLot(sheet),
      units: [],
      by: null,
      overdue: false,
      button: { text: TODAY.toType, href: `${sheetsAddress(sheet.lot)}/again/${sheet.name}` },
    }));

export const holdDuties = (lines: readonly LotLine[]): Duty[] =>
  lines.flatMap((line) =>
    line.units.flatMap(({ serial, hold }) =>
      hold === null
        ? []
        : [
            {
              topic: 'held' as const,
              what: TODAY.hold(hold),
              of: ofLot(line),
              units: [serial],
              by: line.neededBy,
              overdue: false,
              button: { text: TODAY.liftHold, href: `${lotAddress(line.lot)}/acts/lift-hold` },
            },
          ],
    ),
  );

/** Lots told one by one; an upgrade may change the verdicts of all there are. */
const MOST_CHANGED = 30;
/** So many of its verdicts are told, each by its beginning: the page of the lot has all. */
const MOST_SAID = 2;
const LONGEST = 240;

/** The whole sentences of its beginning. */
function shortened(says: string): string {
  if (says.length <= LONGEST) return says;
  const end = says.lastIndexOf('. ', LONGEST);
  return `${says.slice(0, end > 0 ? end + 1 : LONGEST)} …`;
}

export function changedVerdictDuties(lines: readonly LotLine[]): Duty[] {
  const changed = lines.filter(({ changedVerdicts }) => changedVerdicts.length > 0);
  const told = changed.slice(0, MOST_CHANGED).map((line) => ({
    topic: 'wrong' as const,
    what: TODAY.changedVerdicts(
      line.changedVerdicts.slice(0, MOST_SAID).map(({ says }) => shortened(says)),
      line.units
        .filter(
          ({ serial, decision }) =>
            decision === 'released' && line.changedVerdicts.some((one) => one.serial === serial),
        )
        .map(({ serial }) => serial),
    ),
    of: ofLot(line),
    units: [],
    by: line.neededBy,
    overdue: false,
    button: { text: TODAY.lookAtThem, href: `${lotAddress(line.lot)}/changed-verdicts` },
  }));
  const more = changed.length - told.length;
  if (more <= 0) return told;
  const rest = { of: null, units: [], by: null, overdue: false, button: { text: TODAY.seeLots, href: '/lots' } };
  return [...told, { topic: 'wrong', what: TODAY.moreChanged(more), ...rest }];
}

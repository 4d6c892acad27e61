import type { StudyNote } from '../../assessment/family/study-result.js';
import { counted } from './counted.js';
import { kindText } from './kinds.js';

/** What has to be known beside the numbers of a study, and what to do. */
export function studyNoteText({ code, facts }: StudyNote): string {
  switch (code) {
    case 'no baseline':
      return `The baseline has ${counted(facts.points, 'point')}, too few or all alike: the charts have points and no limits. Name a longer baseline in a new revision of the plan.`;
    case 'short baseline':
      return `The baseline has ${counted(facts.points, 'point')}; limits from fewer than ${facts.least} may lie far from where they belong. Name a longer one in a new revision of the plan as soon as there are builds.`;
    case 'unstable baseline':
      return `The baseline itself has ${counted(facts.signals, 'signal')}: find the cause, and fix limits from other builds in a new revision of the plan.`;
    case 'data before the plan':
      return `${facts.points} points after the baseline were known when the plan was approved: the plan was not fixed before them. Judge by what was built after its approval, or say in a new revision why it stands.`;
    case 'limits moved':
      return `The limits moved with revision ${facts.revision} of the specification, in effect from ${facts.effectiveFrom}${facts.recordedAt === undefined ? '' : ` and on record since ${facts.recordedAt}`}; ${facts.lots === 1 ? '1 lot was' : `${facts.lots} lots were`} built before it came. Say in the review why they moved.`;
    case 'pool fails':
      return `What the plan pools does not belong together by ${facts.factors.join(' and ')}: no index is stated for all, and one for each group. Narrow the pool in a new revision of the plan, or find what made them differ.`;
    case 'pools more':
      return `The plan pools more than the specification by which lots are assessed: ${poolsMoreText(facts)}. What is said here is of all that it pools.`;
    case 'overdue':
      return `Used after calibration was due, or without one: ${facts.uses.map(({ instrument, lots }) => `${instrument} on ${lotsText(lots)}`).join('; ')}. These values count here: say in the review why they may.`;
    case 'impacts':
      return facts.impacts
        .map(
          ({ impact, cause, lots, conclusion }) =>
            `Impact ${impact} (${kindText(cause.kind)} ${cause.key} was found off) touches values that count here, of ${lotsText(lots)}: ${withoutStop(conclusion)}.`,
        )
        .join(' ');
    case 'lots missing':
      return `Of the window, ${facts.lots.length === 1 ? 'lot' : 'lots'} ${facts.lots.join(', ')} ${facts.lots.length === 1 ? 'is' : 'are'} not assessed and in no number here. Assess ${facts.lots.length === 1 ? 'it' : 'them'} first.`;
    case 'mostly bounds':
      return `${facts.bounds} values were reported only as a bound beside ${facts.values} numbers: no index of so few. Use a method that finds smaller amounts, or count lots that keep the limit.`;
    case 'bounds undecided':
      return `${counted(facts.bounds, 'value')} reported only as a bound that leaves open whether a limit is kept: nothing is stated. Use a method that tells values from the limit.`;
    case 'bounds counted':
      return `${counted(facts.bounds, 'value')} reported only as a bound beside ${facts.values} numbers. Mean, spread and index are the most likely ones with both (maximum likelihood), values of one build count as one in the bounds. Whether values are normal is tried by the numbers alone, and not at all where more than a tenth are bounds.`;
    case 'points alike':
      return 'Each value is a point, and builds differ: points of one build are not independent, so that false signals come more often than is said here. Make builds the points in a new revision of the plan.';
    case 'exposures differ':
      return `Values of two sorts of exposure are among them, by ${facts.what}: ${facts.a} and ${facts.b}. These are no values of one thing, and nothing is stated. Name one of the two under pools in a plan of its own.`;
    case 'two nominal values':
      return `Two nominal values are on record for lot ${facts.lots.join(', ')}: nothing is stated. Find out by which specification it is judged, and correct it.`;
    case 'no nominal value':
      return `The plan takes deviations from the nominal value, and lot ${facts.lots.join(', ')} is judged by a specification without a target: nothing is stated. Add the target, or take values as they are.`;
    case 'limits differ by type':
      return 'On this scale the types of part have no limits in common: nothing is stated for all together, and an index stands for each type alone, by its own limits.';
    case 'type without spread':
      return `The baseline has too few values of ${facts.types.join(', ')}, or all alike: lots of that type are on no chart. Name a longer baseline in a new revision of the plan.`;
    case 'two methods in a lot':
      return `Lot ${facts.lots.join(', ')} was measured by two methods, or two revisions of one: nothing is stated. Pool one of them, or measure the lot again by one method.`;
    case 'no lot of the plan':
      return `The plan admits none of the ${facts.rows} builds of the window; why stands beside each. Correct what it pools in a new revision.`;
  }
}

const poolsMoreText = ({
  machines,
  recipeGroups,
  methods,
  before,
}: Extract<StudyNote, { code: 'pools more' }>['facts']) =>
  [
    ...machines.map((one) => `machine ${one}`),
    ...recipeGroups.map((one) => `recipe group ${one}`),
    ...methods.map(({ method, revision }) => `method ${method} revision ${revision}`),
    ...(before === null ? [] : [`builds before ${before}`]),
  ].join(', ');

const lotsText = (lots: readonly string[]): string => `${lots.length === 1 ? 'lot' : 'lots'} ${lots.join(', ')}`;
const withoutStop = (text: string): string => text.replace(/\.$/, '');

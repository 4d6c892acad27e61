import { compareDecimal } from '../base/decimal.js';
import type { Facts, Recorded } from '../dossier/facts.js';
import type { Statement } from '../dossier/statement.js';
import type { Lot } from '../kinds/lot.js';
import { fateOf, type LotStep } from '../kinds/lot-after-build.js';
import type { ProcessLoad } from '../kinds/process-load.js';
import { hadLeft } from '../kinds/split-lot.js';
import type { Told } from './checks/finding-draft.js';
import { signedOn } from './signed.js';

/** What loads say of the parts of a lot: all that a step after the build names beyond its day and its person. */

export type Load = Recorded<ProcessLoad>;
type Step = LotStep['step'];

/** Steps of which the result cannot be seen afterwards: what they were is known of their load alone (ISO 13485:2016 7.5.6). */
const SPECIAL: ReadonlySet<Step> = new Set(['heat-treat', 'coat', 'sterilise']);

/** Steps of which each load is accepted by signature before anything that was in it goes on. */
export const ACCEPTED_STEPS: ReadonlySet<Step> = new Set(['coat', 'sterilise']);

/** Whether a step has to name its load: a special one, and the pack that is to stay sterile. */
export const asksLoad = ({ family }: Pick<Facts, 'family'>, step: Step): boolean =>
  SPECIAL.has(step) || (step === 'pack' && family.body.sterile === 'sterile');

export const wasIn = ({ body }: Load, part: string): boolean =>
  body.implants?.includes(part) === true || body.coupons?.includes(part) === true;

/** Parts that were in a load while they were in the lot, as the lot names them. */
export const partsIn = ({ lot }: Pick<Facts, 'lot'>, load: Load): string[] =>
  partsOf(lot.body).filter((part) => wasIn(load, part) && !hadLeft(lot.body, part, load.body.at));

export const partsOf = ({ implants, coupons }: Facts['lot']['body']): string[] => [
  ...implants.map(({ serial }) => serial),
  ...coupons.map(({ coupon }) => coupon),
];

/** Loads of the lot in the order in which they were finished. */
export const loadsInOrder = ({ loads }: Pick<Facts, 'loads'>): Load[] =>
  [...loads.values()].sort(
    (a, b) => Date.parse(a.body.at) - Date.parse(b.body.at) || (a.body.load < b.body.load ? -1 : 1),
  );

/** Whether a part was still there for a step that names no parts. */
export function isThere({ fates = [] }: Pick<Lot, 'fates'>, part: string, { at }: Pick<LotStep, 'at'>): boolean {
  const fate = fateOf({ fates }, part);
  return fate === undefined || Date.parse(fate.at) > Date.parse(at);
}

/** Steps of one sort through which a part went, in order of time. */
export const stepsOf = ({ lot }: Pick<Facts, 'lot'>, part: string, step: Step): LotStep[] =>
  lot.body.steps
    .filter((one) => one.step === step && (one.parts?.includes(part) ?? isThere(lot.body, part, one)))
    .sort((a, b) => Date.parse(a.at) - Date.parse(b.at));

/** Whether a part went through a step: in the load that it names, where it names one or has to. */
export function isDone(facts: Pick<Facts, 'lot' | 'family' | 'loads'>, part: string, step: Step): boolean {
  const last = stepsOf(facts, part, step).at(-1);
  if (last === undefined) return false;
  return last.load === undefined ? !asksLoad(facts, step) : loadOf(facts, last, part) !== undefined;
}

/** The load that a step names, where it is a load of such a step and the part was in it. */
export function loadOf({ loads }: Pick<Facts, 'loads'>, { step, load }: LotStep, part: string): Load | undefined {
  const named = load === undefined ? undefined : loads.get(load);
  return named !== undefined && named.body.step === step && wasIn(named, part) ? named : undefined;
}

/** Whether a part went at last through an accepted load of a step. */
export function isAcceptedDone(facts: Facts, part: string, step: Step): boolean {
  const last = stepsOf(facts, part, step).at(-1);
  const load = last && loadOf(facts, last, part);
  return load !== undefined && acceptanceOf(facts, load) !== undefined;
}

/** The statement by which somebody else than the person who ran it accepted a load as it stands. */
export const acceptanceOf = (facts: Facts, { digest, body }: Load): Statement | undefined =>
  signedOn(facts, { digest }, 'approved').find(({ person }) => person.code !== body.by);

/** What speaks against a load by its cycle and its indicators, by rule, with what its words need. */
export function faultsOf({
  body: { load, step, cycle, indicators = [] },
}: Pick<Load, 'body'>): { rule: string; facts: Told }[] {
  const told = { load, step };
  const isLimited = cycle.some(({ min, max }) => min !== undefined || max !== undefined);
  return [
    ...cycle
      .filter(
        ({ value, min, max }) =>
          (min !== undefined && compareDecimal(value, min) < 0) ||
          (max !== undefined && compareDecimal(value, max) > 0),
      )
      .map(({ parameter, value, ucum, min = '', max = '' }) => ({
        rule: 'outside its limits',
        facts: { ...told, parameter, value, limitUnit: ucum, lower: min, upper: max },
      })),
    ...(isLimited || !SPECIAL.has(step) ? [] : [{ rule: 'no limits', facts: told }]),
    ...indicators
      .filter(({ result }) => result === 'failed')
      .map(({ what }) => ({ rule: 'indicator failed', facts: { ...told, indicator: what } })),
    ...(step === 'sterilise' && indicators.length === 0 ? [{ rule: 'no indicator', facts: told }] : []),
  ];
}

/** Whether a load must be accepted for the lot: one that all of its parts went through again stands for none of them. */
export const isToAccept = (facts: Pick<Facts, 'lot' | 'loads'>, load: Load): boolean =>
  ACCEPTED_STEPS.has(load.body.step) && partsIn(facts, load).some((part) => !wasDoneAgain(facts, load, part));

/** Whether a part went through the same step again in a later load. */
export const wasDoneAgain = (facts: Pick<Facts, 'loads'>, load: Load, part: string): boolean =>
  loadsInOrder(facts).some(
    (later) =>
      later.body.step === load.body.step && Date.parse(later.body.at) > Date.parse(load.body.at) && wasIn(later, part),
  );

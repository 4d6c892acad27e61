import { timeText } from '../../dossier/time-text.js';
import { textBy } from './coded.js';
import { routeText } from './trade-codes.js';

type Facts = Readonly<Record<string, string>>;

const under = ({ law, route }: Facts): string => `law ${law}, route ${routeText(route ?? '')}`;
const counted = ({ cases, most, type, year }: Facts): string =>
  `with this release ${cases} cases in ${year} of type ${type}, of at most ${most} custom-made ones a year under the law US`;

/** What has to hold on the day of a release, by code. */
export const CONDITIONS = {
  'permission in date': (facts: Facts) =>
    `permission ${facts.permission} for ${under(facts)} is in date, from ${facts.from}${facts.to === undefined ? '' : ` to ${facts.to}`}`,
  'no permission in date': (facts: Facts) =>
    `no approved permission for ${under(facts)} covers ${facts.day}; regulatory person: have it renewed, and take the revision in`,
  'yearly count': counted,
  'yearly count exceeded': (facts: Facts) => `${counted(facts)}; no signature lifts what the law limits`,
  'program accepted': ({ program, says }: Facts) => `${program}: ${says}`,
  'program not accepted': ({ program, says }: Facts) => `${program}: ${says}`,
  'integrity checked': ({ at }: Facts) => `the data folder was checked at ${timeText(at!)}, without a fault`,
  'integrity never checked': () => 'the data folder was never checked; run "lotwright check"',
  'integrity not checked lately': ({ at }: Facts) =>
    `the data folder was checked last at ${timeText(at!)}, more than two days ago; run "lotwright check"`,
  'integrity faults': ({ at, faults }: Facts) =>
    `the check of the data folder at ${timeText(at!)} found faults: ${faults}; clear them, and run "lotwright check"`,
};
export type ConditionCode = keyof typeof CONDITIONS;

const STATES = { holds: 'holds', warns: 'holds, with a warning', 'does not hold': 'does not hold' };
export const conditionStateText = textBy(STATES);

export const conditionText = ({ condition, facts }: { condition: ConditionCode; facts: Facts }): string =>
  CONDITIONS[condition](facts);

export const conditionsText = (conditions: readonly { condition: string; facts: Facts }[]): string =>
  conditions
    .map(({ condition, facts }) =>
      Object.hasOwn(CONDITIONS, condition) ? CONDITIONS[condition as ConditionCode](facts) : condition,
    )
    .join('; ');

import { isPermissionAsked, permissionsFor } from '../assessment/permissions.js';
import { isGood } from '../assessment/signed.js';
import type { Facts } from '../dossier/facts.js';
import { type LawOfCase, lawsOfCase } from '../kinds/laws.js';
import { isNearYearlyLimit, MOST_A_YEAR } from '../kinds/route-rules.js';
import { releasedForCase, unitStatesOf } from '../lots/unit-decisions.js';
import type { ConditionCode } from '../report/phrases/release-conditions.js';
import type { Reads } from '../store/repositories.js';
import { programAcceptance } from './program-acceptance.js';

/** What has to hold on the day of a release, beside what the lot file says. */
export interface Condition {
  readonly condition: ConditionCode;
  readonly facts: Readonly<Record<string, string>>;
  readonly state: 'holds' | 'warns' | 'does not hold';
}

interface Asked {
  readonly facts: Facts;
  readonly units: readonly string[];
  /** Local calendar date of the act. */
  readonly day: string;
  readonly now: Date;
  /** In a demo nobody accepts the program and no patient waits: only what law and route ask is asked. */
  readonly demo: boolean;
}

/** The service checks once a day; one day more lets a check be late. */
const CHECK_AGE_MS = 2 * 24 * 3_600_000;

/** Read inside the change that stores the release, so that nothing lapses or is counted between the two. */
export async function releaseConditions(read: Reads, asked: Asked): Promise<Condition[]> {
  const laws = lawsOfUnits(asked);
  return [
    ...laws.filter(isPermissionAsked).map((law) => inDate(asked, law)),
    ...(await yearlyCounts(read, asked, laws)),
    ...(asked.demo ? [] : [await accepted(read), await checked(read, asked.now)]),
  ];
}

export const notHeld = (conditions: readonly Condition[]): Condition | undefined =>
  conditions.find(({ state }) => state === 'does not hold');

function lawsOfUnits({ facts: { lot, family, cases }, units }: Asked): LawOfCase[] {
  const codes = new Set(lot.body.implants.filter(({ serial }) => units.includes(serial)).map((one) => one.case));
  const laws = [...cases].filter(([code]) => codes.has(code)).flatMap(([, { body }]) => lawsOfCase(family.body, body));
  return [...new Map(laws.map((law) => [JSON.stringify(law), law])).values()];
}

function inDate({ facts, day }: Asked, law: LawOfCase): Condition {
  const found = permissionsFor(facts, law).find(
    ({ standing, document: { body } }) =>
      isGood(standing) && body.from <= day && (body.to === undefined || day <= body.to),
  );
  const told = { law: law.law, route: law.route };
  if (!found) return { condition: 'no permission in date', facts: { ...told, day }, state: 'does not hold' };
  const { from, to } = found.document.body;
  const dates = { from, ...(to === undefined ? {} : { to }) };
  return { condition: 'permission in date', facts: { ...told, permission: found.name, ...dates }, state: 'holds' };
}

async function yearlyCounts(read: Reads, asked: Asked, laws: readonly LawOfCase[]): Promise<Condition[]> {
  const types = new Set(laws.flatMap((law) => (isCounted(law) ? [law.deviceType ?? ''] : [])));
  const counts: Condition[] = [];
  for (const type of types) counts.push(await yearlyCount(read, asked, type));
  return counts;
}

const isCounted = ({ law, route }: LawOfCase): boolean => law === 'US' && route === 'custom-made';

/** Cases of which something was released in the year, and those of this release; unused sizes do not count apart. */
async function yearlyCount(read: Reads, { facts, units, day }: Asked, type: string): Promise<Condition> {
  const year = day.slice(0, 4);
  const families = new Map((await read.entries.list('family')).map(({ key, body }) => [key, body]));
  const counted = new Set<string>();
  for (const { key: code, body } of await read.entries.list('case')) {
    const family = families.get(body.family);
    const isOfType =
      family && lawsOfCase(family, body).some((law) => isCounted(law) && (law.deviceType ?? '') === type);
    if (!isOfType) continue;
    const isNow = facts.lot.body.implants.some((one) => one.case === code && units.includes(one.serial));
    if (isNow || (await wasReleasedIn(read, code, year))) counted.add(code);
  }
  const cases = counted.size;
  const told = { type, year, cases: String(cases), most: String(MOST_A_YEAR) };
  if (cases > MOST_A_YEAR) return { condition: 'yearly count exceeded', facts: told, state: 'does not hold' };
  return { condition: 'yearly count', facts: told, state: isNearYearlyLimit(cases) ? 'warns' : 'holds' };
}

async function wasReleasedIn(read: Reads, code: string, year: string): Promise<boolean> {
  for (const { lot, serial } of await releasedForCase(read, code)) {
    const [state] = await unitStatesOf(read, lot, [serial]);
    if (state?.releases.some(({ at }) => at.startsWith(year))) return true;
  }
  return false;
}

async function accepted(read: Reads): Promise<Condition> {
  const { program, accepted: isAccepted, says } = await programAcceptance(read);
  const facts = { program, says };
  return isAccepted
    ? { condition: 'program accepted', facts, state: 'holds' }
    : { condition: 'program not accepted', facts, state: 'does not hold' };
}

async function checked(read: Reads, now: Date): Promise<Condition> {
  const last = (await read.events.ofTypes(['integrity-checked'])).at(-1);
  if (last?.event.type !== 'integrity-checked') {
    return { condition: 'integrity never checked', facts: {}, state: 'does not hold' };
  }
  const { faultCount } = last.event;
  const facts = { at: last.at, faults: String(faultCount) };
  if (faultCount > 0) return { condition: 'integrity faults', facts, state: 'does not hold' };
  return now.getTime() - Date.parse(last.at) > CHECK_AGE_MS
    ? { condition: 'integrity not checked lately', facts, state: 'does not hold' }
    : { condition: 'integrity checked', facts, state: 'holds' };
}

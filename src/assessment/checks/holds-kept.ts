import type { Facts } from '../../dossier/facts.js';
import { closuresOf } from '../../kinds/build-chain.js';
import type { Implant } from '../../kinds/lot.js';
import type { LotStep } from '../../kinds/lot-after-build.js';
import type { Specification } from '../../kinds/specification.js';
import { loadOf, stepsOf } from '../loads.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

type Hold = NonNullable<Specification['holds']>[number];
const HOUR_MS = 3_600_000;

/** How long implants waited between two steps, and how long their pouches were open. */
export const holdsKept: Check = {
  code: 'holds-kept',
  since: 1,
  clause: 'ISO 13485:2016 7.5.1, 7.5.2, 7.5.11',
  moment: 'release',
  run(facts) {
    const { holds = [], openPouchHours } = facts.specification.body;
    const { implants } = facts.lot.body;
    const steps = new Set(facts.lot.body.steps.map(({ step }) => step));
    const asked = holds.filter(({ to }) => steps.has(to));
    const isPouchAsked = openPouchHours !== undefined && steps.has('pack');
    return {
      findings: implants.flatMap((implant) => [
        ...asked.flatMap((hold) => overHold(facts, implant, hold)),
        ...(isPouchAsked ? openTooLong(facts, implant.serial, openPouchHours) : []),
      ]),
      basis: { holds: String(asked.length + (isPouchAsked ? 1 : 0)) },
      doesNotApply: asked.length === 0 && !isPouchAsked,
    };
  },
};

/** When a part was taken up for a step: the beginning of its load, where that is known. */
const beganAt = (facts: Facts, step: LotStep, part: string): string =>
  loadOf(facts, step, part)?.body.startedAt ?? step.at;

const hoursText = (ms: number): string => (Math.round((ms / HOUR_MS) * 100) / 100).toString();

/**
 * Each time that a part went through the later step counts, from the last time that it went through the earlier one. How long
 * after its build something may be reworked, its instruction answers for.
 */
function overHold(facts: Facts, implant: Implant, { from, to, hours }: Hold): FindingDraft[] {
  const { serial } = implant;
  const before = from === 'build' ? builtAt(facts, implant) : stepsOf(facts, serial, from).map(({ at }) => at);
  const counted = stepsOf(facts, serial, to).filter(({ instruction }) => from !== 'build' || instruction === undefined);
  return counted.flatMap((step): FindingDraft[] => {
    const at = beganAt(facts, step, serial);
    const since = before.filter((one) => Date.parse(one) <= Date.parse(at)).at(-1);
    const common = { subjects: [subject('implant', serial)], units: [serial], effect: 'cannot be decided' as const };
    const told = { unit: serial, from, step: to, at, most: hours };
    if (since === undefined) return [{ ...common, rule: 'earlier step not on record', facts: told }];
    const waited = Date.parse(at) - Date.parse(since);
    if (waited <= Number(hours) * HOUR_MS) return [];
    const rule = 'waited too long';
    return [{ ...common, rule, facts: { ...told, hours: hoursText(waited) }, mayBeDecided: 'concession' }];
  });
}

/** When the chambers were opened in which it was built. */
function builtAt({ lot }: Facts, implant: Implant): string[] {
  const closures = closuresOf(implant);
  return lot.body.builds
    .flatMap(({ build, openedAt }) => (closures.includes(build) && openedAt !== undefined ? [openedAt] : []))
    .sort((a, b) => Date.parse(a) - Date.parse(b));
}

/** A pouch is open from the beginning of its load to the end of it; opened and packed again, the times add up. */
function openTooLong(facts: Facts, serial: string, most: string): FindingDraft[] {
  const packs = stepsOf(facts, serial, 'pack').map((step) => loadOf(facts, step, serial)?.body);
  if (packs.length === 0) return [];
  const common = { subjects: [subject('implant', serial)], units: [serial], effect: 'cannot be decided' as const };
  const told = { unit: serial, most };
  const spans = packs.map((load) => (load?.startedAt === undefined ? undefined : ([load.startedAt, load.at] as const)));
  if (spans.includes(undefined)) return [{ ...common, rule: 'open time not known', facts: told }];
  const open = spans.reduce((sum, span) => sum + Date.parse(span![1]) - Date.parse(span![0]), 0);
  if (open <= Number(most) * HOUR_MS) return [];
  return [
    { ...common, rule: 'pouch open too long', facts: { ...told, hours: hoursText(open) }, mayBeDecided: 'concession' },
  ];
}

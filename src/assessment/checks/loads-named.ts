import type { Facts } from '../../dossier/facts.js';
import type { LotStep } from '../../kinds/lot-after-build.js';
import { asksLoad, isThere, type Load, loadsInOrder, partsIn, partsOf, wasIn } from '../loads.js';
import { unitsOfSpecimen } from '../specimens.js';
import { type Check, subject } from './check.js';
import type { FindingDraft, Told } from './finding-draft.js';

/** Steps and loads tell of the same parts, each in one place at a time. */
export const loadsNamed: Check = {
  code: 'loads-named',
  since: 1,
  clause: 'ISO 13485:2016 7.5.5, 7.5.6, 7.5.9.1',
  moment: 'release',
  run(facts) {
    const { steps } = facts.lot.body;
    const asking = steps.filter(({ step, load }) => load !== undefined || asksLoad(facts, step));
    return {
      findings: [
        ...asking.flatMap((step) => faultsOfStep(facts, step)),
        ...loadsInOrder(facts).flatMap((load) => withoutStep(facts, load)),
        ...atOnce(facts),
      ],
      basis: { steps: String(asking.length), loads: String(facts.loads.size) },
      doesNotApply: asking.length === 0 && facts.loads.size === 0,
    };
  },
};

function finding(facts: Facts, rule: string, load: string | undefined, told: Told, parts: readonly string[]) {
  return {
    rule,
    subjects: [
      ...(load === undefined ? [subject('lot', facts.lot.body.lot)] : [subject('process-load', load)]),
      ...parts.map((part) => subject('specimen', part)),
    ],
    facts: { ...told, members: JSON.stringify(parts) },
    effect: 'cannot be decided' as const,
    units: [...new Set(parts.flatMap((part) => unitsOfSpecimen(facts, part)))],
  };
}

/** Parts that were there for a step. */
const partsThere = ({ lot }: Facts, step: LotStep): readonly string[] =>
  step.parts ?? partsOf(lot.body).filter((part) => isThere(lot.body, part, step));

function faultsOfStep(facts: Facts, one: LotStep): FindingDraft[] {
  const { step, at, load: code } = one;
  const parts = partsThere(facts, one);
  if (code === undefined) return [finding(facts, 'no load', undefined, { step, at }, parts)];
  const load = facts.loads.get(code);
  if (load === undefined) return [finding(facts, 'load not on record', code, { step, at, load: code }, parts)];
  if (load.body.step !== step) {
    return [finding(facts, 'load of another step', code, { step, at, load: code, did: load.body.step }, parts)];
  }
  const missing = parts.filter((part) => !wasIn(load, part));
  return missing.length === 0 ? [] : [finding(facts, 'not in the load', code, { step, at, load: code }, missing)];
}

/** Parts of the lot of which a load tells, and no step of the lot. */
function withoutStep(facts: Facts, load: Load): FindingDraft[] {
  const { load: code, step } = load.body;
  const told = new Set(
    facts.lot.body.steps.filter((one) => one.load === code).flatMap((one) => partsThere(facts, one)),
  );
  const parts = partsIn(facts, load).filter((part) => !told.has(part));
  return parts.length === 0 ? [] : [finding(facts, 'no step names the load', code, { load: code, step }, parts)];
}

/** A load without a beginning was only at its end. */
const spanOf = ({ body: { startedAt, at } }: Load) => ({ from: Date.parse(startedAt ?? at), to: Date.parse(at) });

function overlap(a: Load, b: Load): boolean {
  const [one, other] = [spanOf(a), spanOf(b)];
  if (one.from === other.from && one.to === other.to) return true;
  return one.from < other.to && other.from < one.to;
}

function atOnce(facts: Facts): FindingDraft[] {
  const loads = loadsInOrder(facts);
  return loads.flatMap((load, index) =>
    loads.slice(index + 1).flatMap((other) => {
      const parts = overlap(load, other) ? partsIn(facts, load).filter((part) => wasIn(other, part)) : [];
      const told = { load: load.body.load, otherLoad: other.body.load };
      return parts.length === 0 ? [] : [finding(facts, 'in two loads at once', load.body.load, told, parts)];
    }),
  );
}

import { compareDecimal } from '../../base/decimal.js';
import type { Facts } from '../../dossier/facts.js';
import type { Consumable } from '../../kinds/consumable.js';
import { type ConsumableUse, consumableUses, momentOfUse, usesUpTo } from '../consumable-uses.js';
import { orderedTo } from '../material-lines.js';
import { type Check, isAfter, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** Each use by the lot, as far as the material specification of the consumable limits it, and within the time of its use. */
export const consumablesWithinLimit: Check = {
  code: 'consumables-within-limit',
  since: 1,
  clause: 'ISO 13485:2016 6.3, 7.5.1, 7.5.6',
  moment: 'build',
  run(facts) {
    const all = consumableUses(facts);
    return {
      findings: all.flatMap((use) => findingsOf(facts, use)),
      basis: { uses: [...new Set(all.map(({ consumable }) => consumable))].join(', ') },
      doesNotApply: all.length === 0,
    };
  },
};

const MS_AN_HOUR = 3_600_000;

/** @throws TypeError for a lot file without what its own documents name: what wears out is not passed over. */
function bodyOf({ consumables }: Facts, code: string): Consumable {
  const found = consumables.get(code);
  if (found === undefined) throw new TypeError(`the lot file lacks consumable ${code}`);
  return found.body;
}

function findingsOf(facts: Facts, use: ConsumableUse): FindingDraft[] {
  const { consumable, usedIn, implants } = use;
  const body = bodyOf(facts, consumable);
  const at = momentOfUse(facts, use);
  if (at === undefined) return [];
  const limit = orderedTo(facts, body)?.body.inUseLimit;
  const finding = (rule: string, more: FindingDraft['facts']): FindingDraft => ({
    rule,
    subjects: [subject('consumable', consumable), subject(usedIn.kind, usedIn.key)],
    facts: { name: consumable, of: body.category, work: usedIn.key, usedAt: at, ...more },
    effect: 'cannot be decided',
    units: implants,
    mayBeDecided: 'concession',
  });
  const uses = usesUpTo(facts, consumable, at);
  const build = usedIn.kind === 'build' ? facts.lot.body.builds.find((one) => one.build === usedIn.key) : undefined;
  const gas = build?.gas.find(({ bottle }) => bottle === consumable);
  const filledFrom = body.made.flatMap((taken) => ('receipt' in taken ? [taken.receipt] : []));
  const hours = String((Date.parse(at) - Date.parse(body.inUseFrom)) / MS_AN_HOUR);
  return [
    ...(build !== undefined && body.machine !== undefined && body.machine !== build.machine
      ? [finding('on another machine', { machine: body.machine, asked: build.machine })]
      : []),
    ...(gas !== undefined && !filledFrom.includes(gas.receipt)
      ? [finding('filled from another receipt', { receipt: gas.receipt, receipts: filledFrom.join(', ') })]
      : []),
    ...(isAfter(body.inUseFrom, at) ? [finding('not in use yet', { from: body.inUseFrom })] : []),
    ...(body.retiredAt !== undefined && isAfter(at, body.retiredAt)
      ? [finding('used after its use ended', { until: body.retiredAt })]
      : []),
    ...(limit?.uses !== undefined && uses > limit.uses
      ? [finding('used too often', { uses: String(uses), most: String(limit.uses) })]
      : []),
    ...(limit?.hours !== undefined && compareDecimal(hours, limit.hours) > 0
      ? [finding('used too long', { from: body.inUseFrom, hours: limit.hours })]
      : []),
  ];
}

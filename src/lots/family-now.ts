import type { CapabilityResult } from '../assessment/assessment.js';
import { familyCapability } from '../assessment/capability.js';
import { ownValues } from '../assessment/own-history.js';
import { type Facts, revisionKey } from '../dossier/facts.js';
import { readBody } from '../kinds/formats.js';
import type { Characteristic } from '../kinds/specification.js';
import { capabilityPlan } from '../kinds/trend/capability-plan.js';
import { gatherHistory } from '../store/gather-history.js';
import type { Reads } from '../store/repositories.js';
import { SharedFacts } from '../store/shared-facts.js';

/**
 * What a lot file of these facts would say of one characteristic if the history were pinned now: the same question and
 * the same rules, over lots too that were assessed after this one was frozen.
 */
export async function capabilityNow(read: Reads, facts: Facts, item: Characteristic): Promise<CapabilityResult> {
  const { lot, specification } = facts;
  const asked = { ...specification.body, characteristics: [item] };
  const { history, plans } = await gatherHistory(read, new SharedFacts(read), lot.body, asked);
  const capabilityPlans = new Map(
    plans.map((pinned) => [
      revisionKey(pinned.key, pinned.revision),
      { ...pinned, body: readBody(capabilityPlan, pinned.body) },
    ]),
  );
  return familyCapability({ lot, history, capabilityPlans }, item, ownValues(facts));
}

import { digestOf } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import { acceptAll } from './acceptance.js';
import type { Assessment } from './assessment.js';
import { familyCapability } from './capability.js';
import { checksFor } from './checks/catalogue.js';
import { runCheck } from './checks/check.js';
import { ownValues } from './own-history.js';
import { appliedLimits } from './study-limits.js';
import { unitResults } from './units.js';

/**
 * Assesses one dossier: a pure function of the facts, by the rules of this version.
 * What it says is a proposal; a named, qualified person decides.
 */
export function assess(facts: Facts, version: string): Assessment {
  const planned = facts.specification.body.characteristics;
  const characteristics = acceptAll(facts);
  const own = ownValues(facts);
  const asked = checksFor(characteristics).filter((check) => check.since <= facts.dossier.format);
  const checks = asked.map((check) => runCheck(check, facts));
  const units = unitResults(facts, checks, characteristics);
  return {
    format: 1,
    dossierSha256: digestOf(facts.dossier),
    version,
    checks,
    characteristics,
    units,
    capability: planned.map((item) => familyCapability(facts, item, own, appliedLimits(facts, item))),
    releasable: units.filter((unit) => unit.releasable).map((unit) => unit.serial),
  };
}

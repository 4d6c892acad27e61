import type { Facts } from '../dossier/facts.js';
import { digestOfResults, mayRestOn, restingOn } from '../dossier/impact-results.js';
import type { ResultRow } from '../dossier/tables.js';
import { type Impact, impact } from '../kinds/after-release/impact.js';
import { readBody } from '../kinds/formats.js';
import { decisionOn } from './finding-decisions.js';

/** Impacts that process and quality accepted, as they stand in a lot file. */
export function acceptedImpacts(facts: Facts): Impact[] {
  return facts.dossier.pinned
    .filter(({ kind, digest }) => kind === impact.kind && decisionOn(facts, { id: digest })?.outcome === 'accepted')
    .map(({ body }) => readBody(impact, body, () => {}));
}

/**
 * The impact that looked at a result of an instrument: it names the instrument, a time in which the result was measured, and
 * exactly the results of the lot that were measured then. One that came later, or was corrected since, was not looked at.
 */
export function impactOn(facts: Facts, impacts: readonly Impact[], row: ResultRow): Impact | undefined {
  return impacts.find(({ cause, from, to, results }) => {
    const found = { kind: cause.kind, key: cause.key, from, to };
    if (cause.kind !== 'instrument' || !mayRestOn(row, found)) return false;
    const own = results.ofLots?.find(({ lot }) => lot === facts.dossier.lot);
    return own?.sha256 === digestOfResults(restingOn(facts.results, found));
  });
}

/** Whether it was decided that it has no effect on an implant. */
export const hasNoEffectOn = ({ decisions = [] }: Impact, serial: string): boolean =>
  decisions.some(({ implant, as }) => implant === serial && as === 'no effect');

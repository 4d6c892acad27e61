import type { Calibration } from '../../kinds/instrument.js';
import { acceptedImpacts, hasNoEffectOn, impactOn } from '../impacts.js';
import { latestBefore } from '../latest-before.js';
import { currentResults, unitsOfSpecimen } from '../specimens.js';
import { type Check, isAfter, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** The first calibration after a moment: its as-found state tells whether the instrument was right until then. */
function firstAfter(calibrations: readonly Calibration[], at: string): Calibration | undefined {
  return [...calibrations]
    .filter((calibration) => isAfter(calibration.at, at))
    .sort((a, b) => Date.parse(a.at) - Date.parse(b.at))[0];
}

type Trouble = Pick<FindingDraft, 'rule' | 'facts' | 'mayBeDecided'>;

/** What was wrong with the calibration of an instrument at the moment of its use; undefined when nothing was. */
export function troubleWith(calibrations: readonly Calibration[], at: string): Trouble | undefined {
  const calibration = latestBefore(calibrations, at);
  if (!calibration) {
    return {
      rule: 'no calibration',
      facts: { usedAt: at },
    };
  }
  const facts = { usedAt: at, certificate: calibration.certificate, due: calibration.due };
  if (calibration.asLeft === 'out of tolerance') {
    return {
      rule: 'left out of tolerance',
      facts,
    };
  }
  const next = firstAfter(calibrations, at);
  if (next?.asFound === 'out of tolerance') {
    return {
      rule: 'found out of tolerance later',
      facts: { ...facts, foundBy: next.certificate, foundAt: next.at },
      mayBeDecided: 'decision',
    };
  }
  if (isAfter(at, calibration.due)) return overdue(calibration, next, at);
  return undefined;
}

/** Cleared by an as-found calibration within tolerance and a signed assessment, else by repeating (docs/trade.md 2.6). */
function overdue(calibration: Calibration, next: Calibration | undefined, at: string): Trouble {
  const facts = { usedAt: at, certificate: calibration.certificate, due: calibration.due };
  if (next?.asFound === 'in tolerance') {
    return {
      rule: 'overdue at use, found in tolerance since',
      facts: { ...facts, foundBy: next.certificate, foundAt: next.at },
      mayBeDecided: 'decision',
    };
  }
  return {
    rule: 'overdue at use',
    facts,
  };
}

export const calibrationValid: Check = {
  code: 'calibration-valid',
  since: 1,
  clause: 'ISO 13485:2016 7.6',
  moment: 'release',
  run(facts) {
    const findings = new Map<string, FindingDraft & { units: string[] }>();
    const used = new Set<string>();
    const impacts = acceptedImpacts(facts);
    const lookedAt = new Set<string>();
    for (const result of currentResults(facts)) {
      const instrument = facts.instruments.get(result.instrument);
      if (!instrument) continue;
      used.add(result.instrument);
      const trouble = troubleWith(instrument.body.calibrations, result.measuredAt);
      if (!trouble) continue;
      const id = `${result.instrument} ${trouble.rule} ${result.measuredAt}`;
      const known = findings.get(id);
      const impact = trouble.rule === 'found out of tolerance later' ? impactOn(facts, impacts, result) : undefined;
      if (impact) lookedAt.add(impact.impact);
      const units = unitsOfSpecimen(facts, result.specimen).filter((unit) => !impact || !hasNoEffectOn(impact, unit));
      if (impact && units.length === 0) continue;
      if (known) known.units.push(...units.filter((unit) => !known.units.includes(unit)));
      else
        findings.set(id, {
          ...trouble,
          subjects: [subject('instrument', result.instrument)],
          facts: { ...trouble.facts, instrument: result.instrument, title: instrument.body.title },
          effect: 'cannot be decided',
          units: [...units],
        });
    }
    const names = (found: ReadonlySet<string>): string => [...found].sort().join(', ');
    const impactNames = lookedAt.size === 0 ? {} : { impacts: names(lookedAt) };
    return { findings: [...findings.values()], basis: { instruments: names(used), ...impactNames } };
  },
};

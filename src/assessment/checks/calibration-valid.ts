import { timeText } from '../../dossier/time-text.js';
import type { Calibration } from '../../kinds/instrument.js';
import { currentResults, unitsOfSpecimen } from '../specimens.js';
import { type Check, type FindingDraft, isAfter, subject } from './check.js';

/** The calibration that was the latest one at a moment. */
function latestBefore(calibrations: readonly Calibration[], at: string): Calibration | undefined {
  return [...calibrations]
    .filter((calibration) => !isAfter(calibration.at, at))
    .sort((a, b) => Date.parse(b.at) - Date.parse(a.at))[0];
}

/** The first calibration after a moment: its as-found state tells whether the instrument was right until then. */
function firstAfter(calibrations: readonly Calibration[], at: string): Calibration | undefined {
  return [...calibrations]
    .filter((calibration) => isAfter(calibration.at, at))
    .sort((a, b) => Date.parse(a.at) - Date.parse(b.at))[0];
}

type Trouble = Pick<FindingDraft, 'rule' | 'says' | 'clearedBy' | 'mayBeDecided'> & {
  readonly facts: Record<string, string>;
};

/** What was wrong with the calibration of an instrument at the moment of its use; undefined when nothing was. */
export function troubleWith(title: string, calibrations: readonly Calibration[], at: string): Trouble | undefined {
  const calibration = latestBefore(calibrations, at);
  if (!calibration) {
    return {
      rule: 'no calibration',
      facts: {},
      says: `${title} had no calibration on record when it was used on ${timeText(at)}.`,
      clearedBy: 'Analyst: take in the calibration certificate, or repeat the measurement on a calibrated instrument.',
    };
  }
  const facts = { certificate: calibration.certificate, due: calibration.due };
  if (calibration.asLeft === 'out of tolerance') {
    return {
      rule: 'left out of tolerance',
      facts,
      says: `${title} was left out of tolerance by calibration ${calibration.certificate} and used on ${timeText(at)}.`,
      clearedBy: 'Analyst: repeat the measurement on an instrument in tolerance.',
    };
  }
  const next = firstAfter(calibrations, at);
  if (next?.asFound === 'out of tolerance') {
    return {
      rule: 'found out of tolerance later',
      facts: { ...facts, foundBy: next.certificate, foundAt: next.at },
      says: `${title}, used on ${timeText(at)}, was found out of tolerance by calibration ${next.certificate} of ${timeText(next.at)}.`,
      clearedBy:
        'Process and quality engineer: decide by an assessment of the earlier results (ISO 13485 7.6), or have them repeated.',
      mayBeDecided: 'decision',
    };
  }
  if (isAfter(at, calibration.due)) return overdue(title, calibration, next, at);
  return undefined;
}

/** Cleared by an as-found calibration within tolerance and a signed assessment, else by repeating (docs/trade.md 2.6). */
function overdue(title: string, calibration: Calibration, next: Calibration | undefined, at: string): Trouble {
  const facts = { certificate: calibration.certificate, due: calibration.due };
  const says = `${title} was used on ${timeText(at)}; its calibration ${calibration.certificate} had been due on ${timeText(calibration.due)}`;
  if (next?.asFound === 'in tolerance') {
    return {
      rule: 'overdue at use, found in tolerance since',
      facts: { ...facts, foundBy: next.certificate, foundAt: next.at },
      says: `${says}. Calibration ${next.certificate} of ${timeText(next.at)} found it within tolerance; the assessment of what was measured meanwhile is not signed.`,
      clearedBy: 'Process and quality engineer: sign the assessment of these results (ISO 13485 7.6) as a decision.',
      mayBeDecided: 'decision',
    };
  }
  return {
    rule: 'overdue at use',
    facts,
    says: `${says}.`,
    clearedBy:
      'Quality engineer: an as-found calibration within tolerance and a signed assessment under ISO 13485 7.6; ' +
      'otherwise the analyst repeats the measurement on a calibrated instrument.',
  };
}

export const calibrationValid: Check = {
  code: 'calibration-valid',
  title: 'Instruments in calibration when they were used',
  clause: 'ISO 13485:2016 7.6',
  moment: 'release',
  asks: 'Was every instrument in calibration at the moment of each measurement?',
  run(facts) {
    const findings = new Map<string, FindingDraft & { units: string[] }>();
    const used = new Set<string>();
    for (const result of currentResults(facts)) {
      const instrument = facts.instruments.get(result.instrument);
      if (!instrument) continue;
      used.add(result.instrument);
      const title = `${instrument.body.title} (${result.instrument})`;
      const trouble = troubleWith(title, instrument.body.calibrations, result.measuredAt);
      if (!trouble) continue;
      const id = `${result.instrument} ${trouble.rule} ${result.measuredAt}`;
      const known = findings.get(id);
      const units = unitsOfSpecimen(facts, result.specimen);
      if (known) known.units.push(...units.filter((unit) => !known.units.includes(unit)));
      else
        findings.set(id, {
          ...trouble,
          subjects: [subject('instrument', result.instrument)],
          facts: { ...trouble.facts, instrument: result.instrument, usedAt: result.measuredAt },
          effect: 'cannot be decided',
          units: [...units],
        });
    }
    return { findings: [...findings.values()], basis: `instruments used: ${[...used].sort().join(', ') || 'none'}` };
  },
};

import { digestOf } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import { revisionSubject } from '../../dossier/signable.js';
import type { ClaimNote } from '../assessment.js';
import { approvalOf, isGood, standingOf, unapproved } from '../signed.js';
import { supportWindows, type ZoneWindow } from '../support-windows.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** Counts only where the approved specification says so; elsewhere windows are shown, and decide nothing. */
export const supportWindowMet: Check = {
  code: 'support-window-met',
  since: 1,
  clause: 'ISO 13485:2016 7.2.1, 7.3.3, 8.2.6; ASTM F3268, ISO/TS 20721',
  moment: 'release',
  looksAtCases: true,
  run(facts) {
    if (facts.specification.body.supportWindow !== 'decides') {
      return { findings: [], basis: {}, doesNotApply: true };
    }
    const claims: ClaimNote[] = [];
    const windows = supportWindows(facts);
    return {
      findings: [
        ...windowless(facts, windows),
        ...approvalFindings(facts, windows, claims),
        ...windows.flatMap(zoneFindings),
      ],
      claims,
      basis: { zones: String(windows.length), units: String(new Set(windows.map(({ serial }) => serial)).size) },
    };
  },
};

function windowless(facts: Facts, windows: readonly ZoneWindow[]): FindingDraft[] {
  const asked = new Set(windows.map(({ serial }) => serial));
  const without = facts.lot.body.implants.filter(
    ({ serial, case: code }) => !asked.has(serial) && facts.caseParts.has(code),
  );
  return without.map(({ serial, case: code }) => ({
    rule: 'no window stated',
    subjects: [subject('implant', serial), subject('case', code)],
    facts: { implant: serial, case: code },
    effect: 'cannot be decided',
    units: [serial],
  }));
}

/** A window counts when a second person signed it, once for all zones of a case. */
function approvalFindings(facts: Facts, windows: readonly ZoneWindow[], claims: ClaimNote[]): FindingDraft[] {
  const stated = new Map(windows.flatMap(({ window }) => (window ? [[window.digest, window] as const] : [])));
  return [...stated.values()].flatMap((window) => {
    const standing = standingOf(facts, revisionSubject(window), window.body.approval);
    if (isGood(standing)) {
      claims.push(approvalOf(window.kind, window.key, standing));
      return [];
    }
    const units = windows.flatMap((one) => (one.window?.digest === window.digest ? [one.serial] : []));
    const common = { subjects: [subject(window.kind, window.key)], units: [...new Set(units)] };
    return unapproved(standing, { ...common, facts: { kind: window.kind, case: window.key } }) ?? [];
  });
}

/** It names implant and zone, and tells nothing of what the case asks of them. */
function zoneFindings({ serial, zone, answer, restsOn }: ZoneWindow): FindingDraft[] {
  const isKnown = !('why' in answer);
  const outcome = isKnown ? answer.outcome : 'cannot be decided';
  if (outcome === 'inside') return [];
  const common = { subjects: [subject('implant', serial)], units: [serial] };
  const told = { implant: serial, zone, textSha256: digestOf(restsOn) };
  if (outcome === 'outside') {
    return [{ ...common, rule: 'outside its window', facts: told, effect: 'does not conform' }];
  }
  const reason = isKnown ? (answer.unknown[0] ?? 'interval') : answer.why;
  return [
    {
      ...{ ...common, rule: 'not known to hold', facts: { ...told, reason } },
      ...{ effect: 'cannot be decided', mayBeDecided: 'decision' },
    },
  ];
}

import type { Assessment, CheckResult, Effect, Verdict } from '../assessment/assessment.js';
import { isLifted } from '../assessment/checks/check.js';
import type { CheckCode } from '../assessment/checks/check-code.js';
import type { Facts } from '../dossier/facts.js';
import { characteristicAnchor, checkAnchor, sectionAnchor, verdictAnchor } from './anchors.js';

/** What is asked of an implant besides its characteristics, in the order in which it comes about. */
export const ASPECTS = [
  'identity',
  'metal',
  'recipe',
  'log',
  'coupons',
  'tests',
  'papers',
  'finish',
  'load',
  'label',
] as const;
export type Aspect = (typeof ASPECTS)[number];

/** A cell says what the checks of its aspect come to for one implant; `only-done` where all on record is that it was done. */
export type CellState = Verdict | 'blocks release' | 'does not apply' | 'only-done' | 'not-planned';

export interface MatrixCell {
  readonly state: CellState;
  /** Where the record tells more. */
  readonly anchor: string;
}

export interface MatrixRow {
  readonly of: { readonly aspect: Aspect } | { readonly characteristic: string };
  /** One for each implant, in the order asked for. */
  readonly cells: readonly MatrixCell[];
}

/** The aspect under which a check is shown. */
const ASPECT_OF: Readonly<Record<CheckCode, Aspect>> = {
  'case-open': 'identity',
  'design-accepted': 'identity',
  'design-inside-envelope': 'identity',
  'design-still-current': 'identity',
  'image-age': 'identity',
  'side-agrees': 'identity',
  'recipe-as-designed': 'recipe',
  'software-as-validated': 'recipe',
  'route-needs': 'identity',
  'material-accepted': 'metal',
  'stock-part-accepted': 'metal',
  'risk-build-signed': 'metal',
  'corrections-judged': 'metal',
  'consumables-within-limit': 'metal',
  'certificates-within-limits': 'metal',
  'certificates-plausible': 'metal',
  'delivered-as-ordered': 'metal',
  'supplier-approved': 'metal',
  'powder-balance': 'metal',
  'deposited-metal-known': 'metal',
  'powder-reuse-within-limit': 'metal',
  'recipe-in-force': 'recipe',
  'recipe-inside-envelope': 'recipe',
  'process-validated': 'recipe',
  'machines-maintained': 'recipe',
  'changeover-done': 'recipe',
  'line-cleared': 'recipe',
  'settings-followed': 'recipe',
  'log-complete': 'log',
  'log-findings-decided': 'log',
  'log-sensors-calibrated': 'log',
  'coupons-planned': 'coupons',
  'coupons-represent': 'coupons',
  'failures-explained': 'coupons',
  acceptance: 'tests',
  'calibration-valid': 'tests',
  'methods-in-force': 'tests',
  'testers-qualified': 'tests',
  'tests-long-enough': 'tests',
  'exposures-stand': 'tests',
  'support-window-met': 'tests',
  'shape-within-profile': 'tests',
  'stock-kept': 'tests',
  'interface-tested': 'tests',
  'zone-classes-covered': 'tests',
  'results-complete': 'tests',
  'results-in-time': 'tests',
  'results-signed': 'tests',
  'repeats-decided': 'tests',
  'destroyed-once': 'tests',
  'after-release-relied': 'tests',
  'loads-named': 'finish',
  'holds-kept': 'finish',
  'loads-kept': 'load',
  'places-kept': 'load',
  'loads-accepted': 'load',
  'expiry-after-surgery': 'label',
  'labels-balance': 'label',
  'statement-signed': 'papers',
  'claims-agree': 'papers',
  'counts-balance': 'papers',
  'documents-not-withdrawn': 'papers',
  'nonconformities-closed': 'papers',
  'rework-repeated': 'finish',
  'moves-signed': 'papers',
  'events-in-order': 'papers',
  'limits-before-data': 'papers',
  'operators-qualified': 'papers',
  'specification-in-force': 'papers',
  'codes-read': 'label',
};

/** A record may have been assessed by rules of another version, with a check that this one does not know. */
export const aspectOf = (check: string): Aspect => ASPECT_OF[check as CheckCode] ?? 'papers';

/** The characteristics stand between the coupons and how the tests were done. */
export function lotMatrix(facts: Facts, assessment: Assessment, units: readonly string[]): MatrixRow[] {
  const aspect = (name: Aspect): MatrixRow => ({
    of: { aspect: name },
    cells: units.map((unit) => aspectCell(facts, assessment.checks, name, unit)),
  });
  const before = ASPECTS.slice(0, ASPECTS.indexOf('tests'));
  const after = ASPECTS.slice(ASPECTS.indexOf('tests'));
  const characteristics = facts.specification.body.characteristics.map(({ characteristic }) => ({
    of: { characteristic },
    cells: units.map((unit) => characteristicCell(assessment, characteristic, unit)),
  }));
  return [...before.map(aspect), ...characteristics, ...after.map(aspect)];
}

/** A step without parts was done on the whole lot; packing and what comes after it finish nothing. */
const wasDone = (steps: Facts['lot']['body']['steps'], unit: string): boolean =>
  steps.some(({ step, parts }) => step === 'clean' && (parts?.includes(unit) ?? true));

/** The acceptance of values is told characteristic by characteristic. */
const isShownByValues = ({ code }: CheckResult): boolean => code === 'acceptance';

const SEVERITY: readonly Effect[] = ['blocks release', 'cannot be decided', 'does not conform'];

function aspectCell({ lot }: Facts, checks: readonly CheckResult[], aspect: Aspect, unit: string): MatrixCell {
  const own = checks.filter((check) => aspectOf(check.code) === aspect && !isShownByValues(check));
  const against = own
    .flatMap(({ code, findings }) =>
      findings
        .filter((finding) => finding.units.includes(unit) && !isLifted(finding))
        .map(({ effect }) => ({ effect, anchor: checkAnchor(code) })),
    )
    .sort((a, b) => SEVERITY.indexOf(b.effect) - SEVERITY.indexOf(a.effect));
  const [worst] = against;
  if (worst) return { state: worst.effect, anchor: worst.anchor };
  const first = own[0];
  const anchor = first ? checkAnchor(first.code) : sectionAnchor('release');
  if (own.every(({ outcome }) => outcome === 'does not apply')) {
    const isDone = aspect === 'finish' && wasDone(lot.body.steps, unit);
    return { state: isDone ? 'only-done' : 'does not apply', anchor };
  }
  return { state: 'conforms', anchor };
}

function characteristicCell({ characteristics }: Assessment, characteristic: string, unit: string): MatrixCell {
  const found = characteristics.find((item) => item.characteristic === characteristic && item.unit === unit);
  const anchor = characteristicAnchor(characteristic);
  if (!found) return { state: 'not-planned', anchor };
  const against = found.values.find(({ verdict, row }) => verdict !== 'conforms' && row !== null);
  return { state: found.verdict, anchor: against ? verdictAnchor(against.row!) : anchor };
}

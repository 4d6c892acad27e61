import { type Assessment, type CharacteristicVerdict, type Verdict, worstVerdict } from '../assessment/assessment.js';
import { placesOnParts } from '../assessment/coverage.js';
import { decisionOn } from '../assessment/finding-decisions.js';
import { effectOf, logFindingsOf } from '../assessment/log-findings.js';
import { appliedLimits } from '../assessment/study-limits.js';
import type { Facts } from '../dossier/facts.js';
import { revisionKey } from '../dossier/facts.js';
import type { LogFinding } from '../dossier/schema.js';
import { specimenText } from '../dossier/tables.js';
import { zoneMadeIn } from '../kinds/build-chain.js';
import type { BuiltZone, Implant } from '../kinds/lot.js';
import type { Recipe } from '../kinds/recipe.js';
import { ABSENT } from './phrases/absent.js';
import { appliedLimitsText } from './phrases/limits.js';
import { findingText } from './phrases/log-finding.js';
import { ZONE_STEP } from './phrases/zone-table.js';

/** One characteristic that speaks for a zone, or for the implant as a whole. */
export interface ZoneResult {
  readonly characteristic: string;
  readonly title: string;
  /** Limits with their unit. */
  readonly limits: string;
  readonly verdict: Verdict;
  readonly values: readonly {
    readonly specimen: string;
    readonly text: string;
    readonly verdict: Verdict;
    readonly row: number | null;
  }[];
}

/** A log finding where it lies on a zone. */
export interface ZoneFinding {
  readonly id: string;
  readonly level: LogFinding['level'];
  readonly says: string;
  readonly layers: { readonly from: number; readonly to: number };
  /** What it does to the unit there. */
  readonly verdict: Verdict;
}

/** What the recipe asks of one step in a zone. */
export interface ZoneStep {
  readonly step: string;
  readonly everyLayers: number;
  readonly settings: readonly string[];
  readonly windows: readonly string[];
}

export interface ZoneRow {
  /** Name as logged. */
  readonly zone: string;
  readonly recipeZone: string;
  readonly title: string;
  readonly zoneClass: string;
  readonly layers: { readonly from: number; readonly to: number };
  readonly steps: readonly ZoneStep[];
  readonly results: readonly ZoneResult[];
  readonly findings: readonly ZoneFinding[];
  readonly verdict: Verdict;
}

export interface ZoneUnit {
  readonly serial: string;
  readonly verdict: Verdict;
  readonly zones: readonly ZoneRow[];
  /** Characteristics that name no zone. */
  readonly whole: readonly ZoneResult[];
}

/** Limits, results and findings of every implant, zone by zone: one plain view for table and picture. */
export function zoneTable(facts: Facts, assessment: Assessment): ZoneUnit[] {
  const findings = logFindingsOf(facts);
  return facts.lot.body.implants.map((implant) => {
    const verdicts = assessment.characteristics.filter(({ unit }) => unit === implant.serial);
    const recipe = facts.recipes.get(revisionKey(implant.recipe.recipe, implant.recipe.revision))!.body;
    return {
      serial: implant.serial,
      verdict: assessment.units.find(({ serial }) => serial === implant.serial)!.verdict,
      zones: implant.zones.map((zone) => zoneRow(facts, implant, zone, recipe, verdicts, findings)),
      whole: resultsFor(facts, verdicts, undefined),
    };
  });
}

function zoneRow(
  facts: Facts,
  implant: Implant,
  built: BuiltZone,
  recipe: Recipe,
  verdicts: readonly CharacteristicVerdict[],
  findings: readonly LogFinding[],
): ZoneRow {
  const zone = recipe.zones.find((item) => item.zone === built.recipeZone);
  const results = zone ? resultsFor(facts, verdicts, zone.class) : [];
  const own = findings.flatMap((finding) => findingOn(facts, finding, implant, built));
  return {
    zone: built.zone,
    recipeZone: built.recipeZone,
    title: zone?.title ?? built.recipeZone,
    zoneClass: zone?.class ?? '',
    layers: built.layers,
    steps: (zone?.steps ?? []).map((step) => ({
      step: step.step,
      everyLayers: step.everyLayers,
      settings: step.parameters.map(({ parameter, set, ucum }) => ZONE_STEP.setting(parameter, set, ucum)),
      windows: step.windows.map(windowText),
    })),
    results,
    findings: own,
    // Where nothing was planned for a zone by itself, nothing is known against it.
    verdict: worstVerdict(['conforms', ...results.map(({ verdict }) => verdict), ...own.map(({ verdict }) => verdict)]),
  };
}

type StepWindow = Recipe['zones'][number]['steps'][number]['windows'][number];

function windowText({ channel, ucum, above, below, layers }: StepWindow): string {
  const levels = (side: NonNullable<typeof above>) =>
    Object.entries(side).flatMap(([level, value]) => (value === undefined ? [] : [ZONE_STEP.level(level, value)]));
  const sides = [
    ...(below ? [ZONE_STEP.below(levels(below))] : []),
    ...(above ? [ZONE_STEP.above(levels(above))] : []),
  ];
  return ZONE_STEP.window(channel, ucum, sides, layers ? ZONE_STEP.layers(layers.from, layers.to) : '');
}

function resultsFor(
  facts: Facts,
  verdicts: readonly CharacteristicVerdict[],
  zoneClass: string | undefined,
): ZoneResult[] {
  return facts.specification.body.characteristics
    .filter((item) => item.zoneClass === zoneClass)
    .flatMap((item) => {
      const verdict = verdicts.find(({ characteristic }) => characteristic === item.characteristic);
      if (!verdict) return [];
      return [
        {
          characteristic: item.characteristic,
          title: item.title,
          limits: appliedLimitsText(
            item,
            appliedLimits(facts, item, ({ standsFor }) => standsFor.includes(verdict.unit)),
          ),
          verdict: verdict.verdict,
          values: verdict.values.map((value) => ({
            specimen: specimenText(value),
            text: value.value || ABSENT.missing,
            verdict: value.verdict,
            row: value.row,
          })),
        },
      ];
    });
}

/** The layers of a zone on which a finding lies; nothing when it lies elsewhere. */
function findingOn(facts: Facts, finding: LogFinding, implant: Implant, built: BuiltZone): ZoneFinding[] {
  const zone = zoneMadeIn(facts.lot.body, implant, built.zone, finding.build);
  if (!zone) return [];
  const spans = placesOnParts(facts.lot.body, finding)
    .filter((place) => place.zone === null || place.zone === zone.zone)
    .map(({ layerFrom, layerTo }) => ({
      from: Math.max(zone.layers.from, layerFrom ?? zone.layers.from),
      to: Math.min(zone.layers.to, layerTo ?? zone.layers.to),
    }))
    .filter(({ from, to }) => from <= to);
  if (spans.length === 0) return [];
  const effect = effectOf(finding, decisionOn(facts, finding));
  return [
    {
      id: finding.id,
      level: finding.level,
      says: findingText(finding),
      layers: { from: Math.min(...spans.map(({ from }) => from)), to: Math.max(...spans.map(({ to }) => to)) },
      verdict: effect === undefined || effect === 'blocks release' ? 'conforms' : effect,
    },
  ];
}

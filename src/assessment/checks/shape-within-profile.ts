import { convert, convertDifference } from '../../base/units.js';
import { digestOf } from '../../dossier/canonical.js';
import { type Facts, revisionKey } from '../../dossier/facts.js';
import { isLength, type ShapeValue, shapeValue } from '../../dossier/shape-values.js';
import {
  type Aligned,
  datumsMissing,
  judgedOf,
  type ShapeDeviation,
  shownOf,
  type ZoneDeviations,
} from '../../kinds/degradation/shape-deviation.js';
import type { Implant } from '../../kinds/lot.js';
import { fateOf, finalScansOf } from '../../kinds/lot-after-build.js';
import type { Characteristic } from '../../kinds/specification.js';
import { classOfZone } from '../../kinds/zone-class.js';
import { builtDesigns } from '../built-designs.js';
import { leastScanned, percentScanned } from '../least-scanned.js';
import { type FinalShape, finalShapes } from '../shapes.js';
import { currentResults } from '../specimens.js';
import { troubleWith } from './calibration-valid.js';
import { type Check, isAfter, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

const fromShape = ({ specification }: Facts): Characteristic[] =>
  specification.body.characteristics.filter(({ source, measuredOn }) => source === 'shape' && measuredOn === 'implant');

/** Whether a characteristic speaks of a zone of an implant. */
function isOfZone(facts: Facts, of: FinalShape, { zoneClass }: Characteristic, zone: string): boolean {
  return zoneClass === undefined || classIn(facts, of, zone) === zoneClass;
}

/** It names implant, scan and zone, and tells nothing of what the design asks of them. */
function drafts({ implant, scan, shape }: FinalShape) {
  return (rule: string, more: FindingDraft['facts'], effect: Partial<FindingDraft> = {}): FindingDraft => ({
    ...{ rule, subjects: [subject('implant', implant.serial)], units: [implant.serial] },
    facts: { implant: implant.serial, scan: scan.scan, textSha256: shape ? digestOf(shape) : '', ...more },
    ...{ effect: 'cannot be decided', mayBeDecided: 'decision' },
    ...effect,
  });
}

/** Implants that are there, of whose finished surface the design asks for a profile, and nobody scanned it. */
function unscanned(facts: Facts): FindingDraft[] {
  const asked = builtDesigns(facts).filter(({ design }) =>
    design?.body.zones.some(({ profileMm }) => profileMm !== undefined),
  );
  const { body } = facts.lot;
  const isSettled = ({ serial }: Implant) =>
    finalScansOf(body.scans, serial).length > 0 || fateOf(body, serial) !== undefined;
  return asked.flatMap(({ implants, iteration }) =>
    implants.flatMap((implant): FindingDraft[] =>
      isSettled(implant)
        ? []
        : [
            {
              ...{ rule: 'implant not scanned', subjects: [subject('implant', implant.serial)] },
              facts: { implant: implant.serial, iteration: String(iteration) },
              ...{ units: [implant.serial], effect: 'cannot be decided', mayBeDecided: 'decision' },
            },
          ],
    ),
  );
}

/** What of the surface of a zone is told apart: what was built, or the stock on which it was. */
type SurfaceOf = 'zones' | 'stock';

const toldOf = (aligned: Aligned | undefined, of: SurfaceOf, name: string): ZoneDeviations | undefined =>
  (aligned?.[of] ?? []).find(({ zone }) => zone === name);

/** Class of a zone of an implant by its recipe. */
function classIn({ recipes }: Facts, { implant }: FinalShape, zone: string): string | undefined {
  const { recipe, revision } = implant.recipe;
  return classOfZone(implant, recipes.get(revisionKey(recipe, revision))?.body, zone);
}

/** Of what was built the class of its zone says how much a scan has to show; of stock the specification as a whole. */
const leastOf = (facts: Facts, of: FinalShape, surface: SurfaceOf, zone: string): number =>
  leastScanned(facts, surface === 'zones' ? classIn(facts, of, zone) : undefined).percent;

const isBarely = ({ scannedShare = 1 }: ZoneDeviations, percent: number): boolean =>
  percentScanned(scannedShare) < percent;

/** Whether a later scan of the same implant that is judged shows what one did not: all of it where no zone is named. */
const isShownLater = (
  all: readonly FinalShape[],
  { implant, scan }: FinalShape,
  zone?: { readonly name: string; readonly surface: SurfaceOf; readonly least: number },
): boolean =>
  all.some(({ implant: other, scan: { at }, shape }) => {
    const judged = shape && judgedOf(shape);
    if (other !== implant || !isAfter(at, scan.at) || judged === undefined) return false;
    const own = zone && toldOf(judged, zone.surface, zone.name);
    return zone === undefined || (own !== undefined && !isBarely(own, zone.least));
  });

function scanFindings(facts: Facts, all: readonly FinalShape[], of: FinalShape): FindingDraft[] {
  const { shape } = of;
  const found = drafts(of);
  if (shape === undefined) return [found('scan not measured', {}, { mayBeDecided: 'no' })];
  const { unreached } = shownOf(shape);
  return [
    ...shape.mesh.findings.map(({ fault, count }) => found('model not sound', { fault, times: String(count) })),
    ...(unreached > 0 ? [found('points without surface', { times: String(unreached) })] : []),
    ...scannerFindings(facts, of),
    ...(judgedOf(shape) === undefined && !isShownLater(all, of)
      ? [found('datums not scanned', { zones: datumsMissing(shape).join(', ') }, { mayBeDecided: 'no' })]
      : []),
    ...zoneFindings(facts, all, of, shape),
  ];
}

/** Of a scan that gave a value the calibration is looked at with those of all other results. */
function scannerFindings(facts: Facts, of: FinalShape): FindingDraft[] {
  const { instrument, at, specimen } = of.scan;
  const asked = new Set(fromShape(facts).map(({ characteristic }) => characteristic));
  const hasValue = currentResults(facts).some(
    (row) => asked.has(row.characteristic) && row.specimen === specimen && row.replicate === String(of.replicate),
  );
  const known = hasValue ? undefined : facts.instruments.get(instrument)?.body;
  const trouble = known && troubleWith(known.calibrations, at);
  if (!trouble) return [];
  const { rule, facts: told, mayBeDecided = 'no' } = trouble;
  return [drafts(of)(rule, { ...told, instrument, title: known.title }, { mayBeDecided })];
}

/** Zones whose profile the design alone asks for: the specification says of no share of them how much may lie outside. */
export function zonesByDesign(facts: Facts, of: FinalShape): ReadonlySet<string> {
  const shares = fromShape(facts).filter(({ ucum }) => !isLength(ucum));
  const asked = (of.shape?.zones ?? []).filter(
    ({ zone, outsideMm, stock }) =>
      outsideMm !== undefined && (stock !== undefined || !shares.some((item) => isOfZone(facts, of, item, zone))),
  );
  return new Set(asked.map(({ zone }) => zone));
}

/** What the design asks of these zones holds by itself, of what was built and, apart from it, of the stock. */
function zoneFindings(facts: Facts, all: readonly FinalShape[], of: FinalShape, shape: ShapeDeviation): FindingDraft[] {
  const judged = judgedOf(shape);
  if (judged === undefined) return [];
  const shares = fromShape(facts).filter(({ ucum }) => !isLength(ucum));
  return shape.zones.flatMap(({ zone, outsideMm, stock }) => {
    if (outsideMm === undefined) return [];
    const surfaces: SurfaceOf[] = stock === undefined ? ['zones'] : stock === 'all' ? ['stock'] : ['zones', 'stock'];
    return surfaces.flatMap((surface) => {
      const byDesign = surface === 'stock' || !shares.some((item) => isOfZone(facts, of, item, zone));
      return surfaceFindings(facts, all, of, { zone, surface, byDesign, own: toldOf(judged, surface, zone) });
    });
  });
}

interface AskedSurface {
  readonly zone: string;
  readonly surface: SurfaceOf;
  /** Whether nothing but the design says how much of it may lie outside. */
  readonly byDesign: boolean;
  readonly own: ZoneDeviations | undefined;
}

function surfaceFindings(
  facts: Facts,
  all: readonly FinalShape[],
  of: FinalShape,
  { zone, surface, byDesign, own }: AskedSurface,
): FindingDraft[] {
  const least = leastOf(facts, of, surface, zone);
  const told = { zone, ...(surface === 'stock' ? { surface: 'stock' } : {}) };
  const found = (rule: string, more: FindingDraft['facts'] = {}, effect: Partial<FindingDraft> = {}) =>
    drafts(of)(rule, { ...told, ...more }, effect);
  const isLater = isShownLater(all, of, { name: zone, surface, least });
  if (own === undefined) return isLater ? [] : [found('zone not scanned')];
  const barely =
    isBarely(own, least) && !isLater
      ? [found('zone barely scanned', { value: percentScanned(own.scannedShare!).toFixed(1), least: String(least) })]
      : [];
  if (!byDesign) return barely;
  const { outside = 0, outsidePerhaps, outsideSurely = outside } = own;
  if (outsideSurely > 0)
    return [...barely, found('outside its profile', {}, { effect: 'does not conform', mayBeDecided: 'no' })];
  if (outsidePerhaps === undefined) return [...barely, found('uncertainty not stated')];
  return outsidePerhaps > 0 ? [...barely, found('not known to lie in its profile')] : barely;
}

/** A value is computed again from what was measured: a row that says otherwise is none of the scan. */
function valueFindings(facts: Facts, shapes: readonly FinalShape[]): { findings: FindingDraft[]; values: number } {
  const items = new Map(fromShape(facts).map((item) => [item.characteristic, item]));
  const withheld = new Set(
    facts.lot.body.implants.filter((one) => !facts.caseParts.has(one.case)).map(({ serial }) => serial),
  );
  const rows = currentResults(facts).filter(
    ({ characteristic, specimen }) => items.has(characteristic) && !withheld.has(specimen),
  );
  const findings = rows.flatMap((row): FindingDraft[] => {
    const { specimen, characteristic, value, ucum } = row;
    const item = items.get(characteristic)!;
    const of = shapes.find((one) => one.scan.specimen === specimen && String(one.replicate) === row.replicate);
    const told = of?.shape && shapeValue(of.shape, item, (zone) => isOfZone(facts, of, item, zone));
    const [computed, uncertainty] = told ? inUnit(told, ucum) : ['', ''];
    if (told && computed === value && uncertainty === row.standardUncertainty) return [];
    return [
      {
        rule: computed === '' ? 'no scan' : 'value not as measured',
        subjects: [subject('result', String(row.row)), subject('implant', specimen)],
        facts: { specimen, characteristic, value, ucum, row: String(row.row), computed },
        effect: 'blocks release',
        units: [specimen],
      },
    ];
  });
  return { findings, values: rows.length };
}

const inUnit = ({ value, ucum, standardUncertainty }: ShapeValue, to: string): [string, string] => [
  convert(value, ucum, to),
  standardUncertainty === '' ? '' : convertDifference(standardUncertainty, ucum, to),
];

export const shapeWithinProfile: Check = {
  code: 'shape-within-profile',
  since: 1,
  clause: 'ISO 13485:2016 7.5.6, 8.2.6; ISO 1101, ASME Y14.5, profile of a surface; ISO 14253-1',
  moment: 'release',
  looksAtCases: true,
  run(facts) {
    const shapes = finalShapes(facts);
    const { findings, values } = valueFindings(facts, shapes);
    const without = unscanned(facts);
    return {
      findings: [...without, ...shapes.flatMap((of) => scanFindings(facts, shapes, of)), ...findings],
      basis: { scans: String(shapes.length), values: String(values) },
      doesNotApply: shapes.length + values + without.length === 0,
    };
  },
};

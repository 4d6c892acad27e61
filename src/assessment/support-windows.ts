import { countingRate } from '../degradation/exposure-rates.js';
import type { LossOverTime, SpecimenLoss } from '../degradation/loss-over-time.js';
import type { LoadSection } from '../degradation/section-left.js';
import type { Localisation, MeasuredSection, WindowAnswer, WindowAsked } from '../degradation/support-window.js';
import { type Facts, revisionKey } from '../dossier/facts.js';
import { type SupportWindow, supportWindow as windowKind } from '../kinds/cases/support-window.js';
import type { Exposure } from '../kinds/degradation/exposure.js';
import { readBody } from '../kinds/formats.js';
import type { Coupon, Implant } from '../kinds/lot.js';
import { classOfZone } from '../kinds/zone-class.js';
import { builtDesigns, type OfCase } from './built-designs.js';
import { exposuresOf, shareBath, uncontrolled } from './exposures.js';
import { localisationOf, measuredOn, type NoLoss, sectionOf, windowByExposures } from './window-by-exposures.js';

/** Why nothing is computed for a zone. */
export type NoWindow = { readonly why: 'no section' | 'no zone class' | 'no exposures' | 'no study' } | NoLoss;

/** One zone of one implant against the window that it has to hold for. */
export interface ZoneWindow {
  readonly serial: string;
  readonly zone: string;
  readonly zoneClass: string | undefined;
  /** Of the case, where it states one for the zone, else the default of the family. */
  readonly from: 'case' | 'family';
  readonly asked: WindowAsked;
  readonly section: LoadSection | undefined;
  /** The document of the case that states it. */
  readonly window: OfCase<SupportWindow> | undefined;
  /** Digests of the documents that it rests on, in order: what was decided on it holds while these are the same. */
  readonly restsOn: readonly string[];
  /** Coupons whose exposures speak for the zone, in order. */
  readonly coupons: readonly string[];
  /** Undefined where nobody measured or stated it. */
  readonly localisation: Localisation | undefined;
  /** Of each exposure that speaks for it. */
  readonly losses: readonly SpecimenLoss[];
  readonly loss: LossOverTime | undefined;
  /** The smallest sections that were measured on the implant itself. */
  readonly measured: readonly MeasuredSection[];
  readonly answer: WindowAnswer | NoWindow;
}

interface AskedZone extends Pick<ZoneWindow, 'zone' | 'from' | 'asked' | 'section' | 'window'> {
  readonly design: string | undefined;
}

/**
 * Every zone for which a case or the family states a support window, with what the exposures of its coupons say of it.
 * A coupon speaks for a zone only by an equivalence study that compared its class in a characteristic from exposures.
 */
export function supportWindows(facts: Facts): readonly ZoneWindow[] {
  const kept = computed.get(facts) ?? compute(facts);
  computed.set(facts, kept);
  return kept;
}

/** Facts never change: the verdict of a lot, its record and its page ask for the same. */
const computed = new WeakMap<Facts, readonly ZoneWindow[]>();

function compute(facts: Facts): ZoneWindow[] {
  const exposures = exposuresOf(facts);
  const off = uncontrolled(exposures);
  const known = new Map<string, ZoneWindow>();
  // What a copy for another institution withholds says nothing of its windows.
  const implants = facts.lot.body.implants.filter((implant) => facts.caseParts.has(implant.case));
  return implants.flatMap((implant) =>
    zonesAsked(facts, implant).map((asked) => {
      const zoneClass = classOf(facts, implant, asked.zone);
      const coupons = facts.lot.body.coupons.filter(({ standsFor }) => standsFor.includes(implant.serial));
      // Implants with the same coupons and windows are computed once.
      const itself = exposuresOfIt(implant.serial, zoneClass, exposures);
      const names = itself.map((one) => exposures.indexOf(one));
      const name = JSON.stringify([asked, zoneClass, coupons.map(({ coupon }) => coupon), names]);
      const found = known.get(name) ?? zoneWindow(facts, { asked, zoneClass, coupons, exposures, off, itself });
      known.set(name, found);
      return { ...found, serial: implant.serial };
    }),
  );
}

function zonesAsked(facts: Facts, implant: Implant): AskedZone[] {
  const { case: code, designIteration } = implant;
  const design = builtDesigns(facts).find((one) => one.code === code && one.iteration === designIteration)?.design;
  const sections = new Map(design?.body.zones.map(({ zone, section }) => [zone, section]));
  const stated = windowOfCase(facts, code);
  const { support } = facts.family.body;
  const whole: LoadSection | undefined = support && { shape: support.shape, sizeMm: Number(support.sizeMm) };
  const common = (zone: string) => ({
    ...{ zone, window: stated, design: design?.digest },
    section: sectionOf(sections.get(zone)) ?? whole,
  });
  if (stated === undefined) {
    if (support === undefined) return [];
    const { weeks: holdWeeks, strengthLeft } = support;
    const asked = { holdWeeks, strengthLeft: Number(strengthLeft), stiffnessLeft: LEAST_STIFFNESS };
    return implant.zones.map(({ zone }) => ({ ...common(zone), from: 'family', asked }));
  }
  return stated.body.zones.map(({ zone, holdWeeks, strengthLeft, stiffnessLeft, goneByWeeks }) => ({
    ...{ ...common(zone), from: 'case' },
    asked: { holdWeeks, goneByWeeks, strengthLeft: Number(strengthLeft), stiffnessLeft: Number(stiffnessLeft) },
  }));
}

/** The window that a case states: its newest revision. */
function windowOfCase({ caseParts }: Facts, code: string): OfCase<SupportWindow> | undefined {
  const stated = (caseParts.get(code)?.pinned ?? []).filter(({ kind }) => kind === windowKind.kind);
  const [newest] = stated.sort((a, b) => b.revision - a.revision);
  return newest && { ...newest, body: readBody(windowKind, newest.body, () => {}) };
}

/** Exposures of an implant itself. */
const exposuresOfIt = (serial: string, zoneClass: string | undefined, exposures: readonly Exposure[]): Exposure[] =>
  exposures.filter((one) => one.specimenIs === 'implant' && one.specimen === serial && one.zoneClass === zoneClass);

/** A family asks nothing of stiffness: less than any that could be left. */
export const LEAST_STIFFNESS = 1e-9;

/** Class of the recipe zone by which a zone of the implant was built; designs name the zone of the implant or of the recipe. */
const classOf = ({ recipes }: Facts, implant: Implant, name: string): string | undefined =>
  classOfZone(implant, recipes.get(revisionKey(implant.recipe.recipe, implant.recipe.revision))?.body, name);

interface Basis {
  readonly asked: AskedZone;
  readonly zoneClass: string | undefined;
  readonly coupons: readonly Coupon[];
  readonly exposures: readonly Exposure[];
  readonly off: ReadonlySet<Exposure>;
  /** Of the implant itself. */
  readonly itself: readonly Exposure[];
}

function zoneWindow(facts: Facts, { asked: given, zoneClass, coupons, exposures, off, itself }: Basis): ZoneWindow {
  const speaking = coupons.filter((coupon) => isCompared(facts, coupon, zoneClass));
  const of = (some: readonly Coupon[]) =>
    exposures.filter(
      (one) =>
        one.zoneClass === zoneClass &&
        some.some(({ coupon }) => coupon === one.specimen) &&
        countingRate(one) !== undefined,
    );
  const own = of(speaking);
  const { design, ...asked } = given;
  // With the controls of their baths, which stand beside other specimens too.
  const counting = [...own, ...itself];
  const restsOn = exposures.filter(
    (one) => counting.includes(one) || (one.control !== undefined && own.some((other) => shareBath(one, other))),
  );
  const base = {
    ...{ serial: '', zoneClass, ...asked },
    restsOn: [
      facts.family.digest,
      ...[asked.window?.digest, design, ...studiesOf(facts, coupons)].filter((digest) => digest !== undefined),
      ...[...facts.exposures.values()].flatMap(({ body, digest }) => (restsOn.includes(body) ? [digest] : [])),
    ],
    coupons: [...new Set(own.map(({ specimen }) => specimen))].sort(),
    localisation: localisationOf(own, facts.family.body.support?.localisationFactor),
    measured: measuredOn(itself),
  };
  const none = (answer: NoWindow): ZoneWindow => ({ ...base, losses: [], loss: undefined, answer });
  if (asked.section === undefined) return none({ why: 'no section' });
  if (zoneClass === undefined) return none({ why: 'no zone class' });
  if (own.length === 0) return none({ why: of(coupons).length > 0 ? 'no study' : 'no exposures' });
  const buildOf = (specimen: string) => coupons.find(({ coupon }) => coupon === specimen)?.build;
  const { localisation, measured } = base;
  const { simulation } = facts;
  const held = { section: asked.section, asked: asked.asked, off, localisation, measured, buildOf, simulation };
  return { ...base, ...windowByExposures(own, held) };
}

/** Digests of the studies by which coupons may speak, each once. */
const studiesOf = ({ studies }: Facts, coupons: readonly Coupon[]): string[] => [
  ...new Set(
    coupons.flatMap(({ study }) => (study && studies.get(revisionKey(study.study, study.revision))?.digest) ?? []),
  ),
];

/** Whether the study of a coupon compared this class of zones in a characteristic that comes from exposures. */
function isCompared({ studies, specification }: Facts, { study }: Coupon, zoneClass: string | undefined): boolean {
  const body = study && studies.get(revisionKey(study.study, study.revision))?.body;
  if (!body || zoneClass === undefined || !body.zoneClasses.includes(zoneClass)) return false;
  return specification.body.characteristics.some(
    ({ source, characteristic }) => source === 'exposure' && body.characteristics.includes(characteristic),
  );
}

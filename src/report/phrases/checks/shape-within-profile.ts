import { calibrationPhrases } from '../calibration.js';
import { type CheckPhrases, ifTold, type Told } from '../phrase.js';

/** A zone, or what of it is of the stock on which the implant was built. */
const surface = (facts: Told): string =>
  ifTold(facts, 'surface') === undefined ? `zone ${facts.zone}` : `the stock in zone ${facts.zone}`;

const DECIDE = 'Process and quality engineer: look at the pictures of the scan, and decide what it still says.';
const AGAIN = 'Analyst: scan it again, and take the scan in with a new name.';
const BOTH = 'A further scan does not take this away, but may help to decide.';

export const shapeWithinProfile: CheckPhrases = {
  title: 'Shape within its profile',
  asks: 'Does the scanned surface lie as near to the design as that asks, and are its values as measured?',
  recompute: `Scans: those of the lot under "scans" with "when" final and "against" what design, of implants whose case file is there, in
order; the first of an implant is its replicate 1. "implant not scanned" (D) for each implant without one, of no fate and not moved away, whose "case-design", of its "designIteration" in that
case file, has a zone with "profileMm". What was measured: the "shape-deviation" specimen:scan in that case file, when its "iteration" is "designIteration" and its
"stock" of the stock part "builtOn", where that has a "mesh", and not there else; without it
"scan not measured". What it shows: its "leastSquares" where "judged" says so and it is there, else "asGiven". What is judged: that, unless "judged" says least
squares and it is not there, or a zone with "isDatum" stands neither in its "zones" nor in its "stock": then nothing. "model not
sound" (D) for each of mesh.findings. "points without surface" (D) with "unreached" above 0. "datums not scanned" when nothing is
judged, unless a scan of the implant with a later "at" is judged. Without a current row of its specimen and
replicate for a characteristic below: the calibration of the scan's instrument at its "at", as calibration-valid has it. For each of its own "zones"
with "outsideMm", when something is judged: what was built, in the judged "zones", unless its "stock" is all; and what is of the stock, in the judged "stock",
when it has "stock". The least share, in percent: of what was built, of the entry of "unseen" of "shape" of the specification with the class of the zone, else, and of the
stock, "leastScannedPercent" of that "shape"; 50 without "shape". "zone not scanned" (D) when there is none of that name, unless such a judged later scan has it with
100 "scannedShare", to one decimal, not below the least; "zone barely scanned" (D) when it has less, unless such a scan is there.
Characteristics: those with "source" shape, measured on the implant; one speaks of a zone when it has no "zoneClass", or that is the
class of the zone in the implant's recipe, found as for support-window-met. What was built of a zone of which none speaks whose unit is no length, and
what is of the stock whatever speaks: "outside its profile" [does not conform] when outsideSurely
(outside where that is not told) is above 0, else "uncertainty not stated" (D) when that is not told, else "not known to lie in its profile" (D) when
outsidePerhaps is above 0. Both are points beyond the profile as moved by the guard band of JCGM 106, z(0.95) times the uncertainty of a point.
Each current row of such a characteristic, of an implant whose case file is there: its scan is that of its specimen and replicate;
over its judged zones with "outside" of which it speaks, value: in a unit of length the largest farthestMm, in mm; else 100 Σ
outside / Σ points, in %; to six decimals. Uncertainty: none without uncertaintyMm; that, or 50 Σ (outsideNarrow - outsideWide) / Σ
points. Converted to the unit of the row: "no scan" [blocks release] without such a scan or zone, "value not as measured" [blocks release] when
it or its uncertainty differs. With the original points as evidence, each deviation is measured again: docs/formulas.md, shape-deviation.
Does not apply without scans, rows and implants that should have been scanned.`,
  basis: ({ scans, values }) => `${scans} scans of finished implants, ${values} values computed again`,
  doesNotApply: 'no finished implant was scanned, and neither design nor specification asks for its shape',
  rules: {
    ...calibrationPhrases(({ title, instrument }) => `${title} (${instrument})`),
    'implant not scanned': ({ implant, iteration }) => ({
      says: `${implant} was not scanned as a finished part, and iteration ${iteration} of its design asks for the profile of its surface.`,
      clearedBy: `Analyst: scan it, and take the scan in with "when" final. Process and quality engineer: else decide what shows its shape.`,
    }),
    'scan not measured': ({ implant, scan }) => ({
      says: `Scan ${scan} of ${implant} was not measured against its design.`,
      clearedBy: 'Process engineer: take the design with its model in, and then the lot again.',
    }),
    'model not sound': ({ implant, scan, fault, times }) => ({
      says: `The model against which scan ${scan} of ${implant} was measured is no sound surface: ${fault}, ${times} times. Which side a point lies on may be told wrong.`,
      clearedBy: `Designer: mend the model in a new iteration. ${DECIDE}`,
    }),
    'points without surface': ({ implant, scan, times }) => ({
      says: `${times} points of scan ${scan} of ${implant} lie near no surface of its design: they are in no share.`,
      clearedBy: `${DECIDE} ${BOTH}`,
    }),
    'datums not scanned': ({ implant, scan, zones }) => ({
      says: `Scan ${scan} of ${implant} shows too little of the datums of its design${zones === '' ? '' : ` (nothing of ${zones})`}: nobody knows how it lies, and nothing of it is judged.`,
      clearedBy: AGAIN,
    }),
    'zone not scanned': (facts) => ({
      says: `Scan ${facts.scan} of ${facts.implant} shows nothing of ${surface(facts)}, whose profile the design asks for.`,
      clearedBy: `${AGAIN} ${DECIDE}`,
    }),
    'zone barely scanned': (facts) => ({
      says: `Scan ${facts.scan} of ${facts.implant} has points on ${facts.value} % of ${surface(facts)} alone, whose profile the design asks for; ${facts.least} % is the least.`,
      clearedBy: `${AGAIN} ${DECIDE}`,
    }),
    'outside its profile': (facts) => ({
      says: `Scan ${facts.scan} of ${facts.implant} shows ${surface(facts)} outside its profile, and the specification allows no share of it.`,
      clearedBy:
        'Nothing but another implant, or a specification that says before the build what share may lie outside.',
    }),
    'not known to lie in its profile': (facts) => ({
      says: `Whether ${surface(facts)} of ${facts.implant} lies in its profile is nearer than scan ${facts.scan} is sure of.`,
      clearedBy: `${DECIDE} ${BOTH}`,
    }),
    'uncertainty not stated': (facts) => ({
      says: `All points of scan ${facts.scan} in ${surface(facts)} of ${facts.implant} lie in its profile, and the scan states no uncertainty of a point: nobody knows how sure that is.`,
      clearedBy: `Analyst: state the uncertainty of the scanner in the scan. ${DECIDE}`,
    }),
    'no scan': ({ characteristic, specimen, value, ucum }) => ({
      says: `${characteristic} of ${specimen} is recorded as ${value} ${ucum}, and no scan on record gives it.`,
      clearedBy: 'Analyst: take the scan in that it was computed from.',
    }),
    'value not as measured': ({ characteristic, specimen, value, ucum, computed }) => ({
      says: `${characteristic} of ${specimen} is recorded as ${value} ${ucum}; its scan gives ${computed} ${ucum}, or another uncertainty.`,
      clearedBy: 'Analyst: take the scan in again, with the reason for what changed.',
    }),
  },
};

import { type CheckPhrases, CONCEDE } from '../phrase.js';

const DECIDE = 'Process and quality engineer: look at the comparison of both scans, and decide what it still says.';
const AGAIN = 'Analyst: scan it again, and take the scan in with a new name.';

export const stockKept: CheckPhrases = {
  title: 'Stock unchanged where nothing was built',
  asks: 'Does the surface of the stock part, where nothing was built on it, lie as it lay before?',
  recompute: `Of implants whose case file is there. Comparisons: scans of the lot with "against" what scan, of an implant with "builtOn", of which the
scan that they name has "against" what stock part and an "at" not after the earliest "closedAt" of the builds of that implant, and the own "at" is not
before the latest "openedAt" of them: those of "build" and "alsoIn", and all that they continue, none that is planned. What was measured is the "shape-change" specimen:scan in that case file, when its "stockPart" is "builtOn", its "iteration" "designIteration" and its "before"
of the scan that is named. "not scanned before
and after" (D) for each implant with "builtOn" of a build that is not planned, of no fate and not moved away, that has none, when "builtOnStock" of the
specification has "mostChangeMm". For each comparison: "change not measured" without it; "nothing compared" (D) and no more when it has no "change". "barely compared" (D) when 100
"comparedShare", to one decimal, is below "leastScannedPercent" of "shape" of the specification, or 50 without it; "stock not found again" (D) when "lostShare" is above 0 and
"mostChangeMm" is stated. With "mostChangeMm": its largest is the size of "changeMm" of
"worst". Without "uncertaintyMm": "stock changed" [does not conform] (C) above the limit, else "uncertainty not stated" (D). Else with the guard band of
JCGM 106, z(0.95) times that uncertainty: "stock changed" [does not conform] (C) above the limit and the band, "not known to be as before" (D) above
the limit less the band. Implants: that one. With the original points as evidence, each comparison is measured again: docs/formats.md,
scanned shapes. Does not apply without comparisons and implants that should have one.`,
  basis: ({ scans, limit }) =>
    `${scans} comparisons before and after${limit === '' ? ', and no limit in the specification' : `, at most ${limit} mm`}`,
  doesNotApply: 'no implant was built on a part of which anybody asks that it stays as it was',
  rules: {
    'not scanned before and after': ({ implant, stockPart }) => ({
      says: `Stock part ${stockPart} was not scanned both before and after ${implant} was built on it, and the specification limits its change.`,
      clearedBy:
        'Analyst: take in both scans, the later one against the earlier; one that stands in the lot from which this was split is not compared. Process and quality engineer: else decide.',
    }),
    'change not measured': ({ implant, scan }) => ({
      says: `Scan ${scan} of ${implant} was not compared with the scan before: the stock part or the design has no mesh.`,
      clearedBy: 'Process engineer: take in the mesh, and then the lot again.',
    }),
    'barely compared': ({ implant, scan, value, least }) => ({
      says: `Scan ${scan} of ${implant} and the one before show ${value} % of the stock that stays; ${least} % is the least.`,
      clearedBy: `${AGAIN} ${DECIDE}`,
    }),
    'stock not found again': ({ implant, scan, value, limit }) => ({
      says: `Of ${value} % of the stock of ${implant} that the scan before shows, scan ${scan} has no point within ${limit} mm: it moved farther, is gone or covered, or was not scanned.`,
      clearedBy: `Analyst: look at the part there, and scan it again where it was not scanned. ${DECIDE}`,
    }),
    'nothing compared': ({ implant, scan }) => ({
      says: `Scan ${scan} of ${implant} and the one before show no surface of the stock that both could be compared on.`,
      clearedBy: `${AGAIN} ${DECIDE}`,
    }),
    'stock changed': ({ implant, scan }) => ({
      says: `The stock of ${implant} lies by scan ${scan} farther from where it lay before than the specification allows.`,
      clearedBy: CONCEDE,
    }),
    'not known to be as before': ({ implant, scan }) => ({
      says: `Whether the stock of ${implant} lies by scan ${scan} as near to where it lay before as the specification asks is nearer than both scans are sure of.`,
      clearedBy: DECIDE,
    }),
    'uncertainty not stated': ({ implant, scan }) => ({
      says: `The stock of ${implant} lies by scan ${scan} as the specification asks, and one of both scans states no uncertainty of a point.`,
      clearedBy: `Analyst: state the uncertainty of the scanner in both. ${DECIDE}`,
    }),
  },
};

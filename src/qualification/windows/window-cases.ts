import { type Document, FICTION } from '../names.js';
import { WINDOW_FAMILY } from './window-site.js';

interface Zone {
  readonly holdWeeks: number;
  readonly strengthLeft: string;
  readonly stiffnessLeft: string;
}

/** What each case asks of the bridge and of the rings around its screws. Invented, and no recommendation. */
const ASKED: readonly { readonly why: string; readonly span: Zone; readonly eyelet: Zone }[] = [
  {
    why: 'heals fast: a simple break in a young patient',
    span: { holdWeeks: 6, strengthLeft: '0.75', stiffnessLeft: '0.65' },
    eyelet: { holdWeeks: 6, strengthLeft: '0.50', stiffnessLeft: '0.35' },
  },
  {
    why: 'heals slowly: poor blood supply',
    span: { holdWeeks: 12, strengthLeft: '0.85', stiffnessLeft: '0.75' },
    eyelet: { holdWeeks: 8, strengthLeft: '0.50', stiffnessLeft: '0.35' },
  },
  {
    why: 'heals as usual, and the screws have to hold a graft for long',
    span: { holdWeeks: 6, strengthLeft: '0.75', stiffnessLeft: '0.65' },
    eyelet: { holdWeeks: 20, strengthLeft: '0.40', stiffnessLeft: '0.25' },
  },
];

const SURGEON = { name: 'Dr R. Halvorsen (fictional)', institution: 'Fjordside Clinic (fictional)' };

/** Cases with the windows that the surgeon gave. */
export const casesOfWindows = (run: number): Record<string, Document> =>
  Object.assign({}, ...ASKED.map((asked, index) => caseDocuments(`K-${run}-${index + 1}`, index + 1, asked)));

function caseDocuments(code: string, n: number, { why, ...zones }: (typeof ASKED)[number]): Record<string, Document> {
  return {
    [`cases/${code}.yaml`]: {
      ...{ kind: 'case', format: 1, case: code, family: WINDOW_FAMILY, neededBy: '2026-12-09', designIteration: 1 },
      ...{ anatomicalSite: 'distal radius', side: n % 2 ? 'left' : 'right', prescriber: SURGEON, otherMetals: 'none' },
      prescription: { reference: `RX-${code}`, at: '2026-07-20T10:00:00Z' },
      surgeryOn: '2026-12-10',
    },
    [`cases/${code}-window.yaml`]: {
      ...{ kind: 'support-window', format: 1, case: code, revision: 1, title: `Window of ${code}, ${FICTION}` },
      zones: Object.entries(zones).map(([zone, asked]) => ({ zone, ...asked })),
      source: `${why} (fictional)`,
      givenBy: { ...SURGEON, at: '2026-07-22T10:00:00Z' },
    },
  };
}

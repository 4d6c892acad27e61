import { Random } from '../../base/random.js';
import { writeCsv } from '../../dossier/csv.js';
import { RESULT_COLUMNS } from '../../kinds/result.js';
import { dayAfter, type LotFiles } from '../lots.js';
import { type Document, PEOPLE } from '../names.js';
import type { Act } from '../scenario.js';
import {
  BLEND,
  BLENDED,
  FIRST_POWDER,
  GAUGES,
  gauges,
  NEW_PROBE,
  STRIP_CELLS,
  STRIP_CHARACTERISTICS,
  STRIP_FAMILY,
  STRIP_SPECIFICATION,
  stripCell,
  stripPlans,
  stripSite,
  stripSiteLater,
} from './strip-site.js';

interface StripLot {
  readonly number: number;
  readonly lot: string;
  readonly day: string;
}

const LOTS = 25;
const FIRST_DAY = '2025-10-02';
const DAYS_APART = 12;
const STRIPS = 3;
/** Lots of which the baseline is. */
const EARLY = 9;
/** The first lot of which the width drifts, and by how much more with each. */
const DRIFTS_FROM = 14;
const DRIFT_MM = 0.01;

const LOTS_OF_STRIPS: readonly StripLot[] = Array.from({ length: LOTS }, (_, index) => ({
  number: index + 1,
  lot: `RS-${String(index + 1).padStart(2, '0')}`,
  day: dayAfter(FIRST_DAY, DAYS_APART * index),
}));

/** What was planted: where each of it begins, by the number of the lot. */
export const PLANTED = {
  drift: { characteristic: 'width', lot: LOTS_OF_STRIPS[DRIFTS_FROM - 1]!.lot },
  step: { characteristic: 'hv', lot: LOTS_OF_STRIPS.find(({ day }) => day >= BLENDED)!.lot },
  gauge: { characteristic: 'flat', lot: LOTS_OF_STRIPS.find(({ day }) => day >= NEW_PROBE)!.lot },
  quiet: { characteristic: 'dens' },
} as const;

const at = (day: string, time: string): string => `${day}T${time}:00Z`;
const serials = ({ lot }: StripLot): string[] => Array.from({ length: STRIPS }, (_, index) => `${lot}-${index + 1}`);

function measuredValue(code: string, { number, day }: StripLot, random: Random): string {
  switch (code) {
    case 'hv':
      return random.around(day < BLENDED ? 68 : 63.5, 1.3).toFixed(1);
    case 'width':
      return random.around(4 + Math.max(0, number - DRIFTS_FROM + 1) * DRIFT_MM, 0.009).toFixed(3);
    case 'flat':
      return random.around(22, day < NEW_PROBE ? 1.8 : 6).toFixed(1);
    default:
      return random.around(1.7905, 0.003).toFixed(4);
  }
}

/** Strips of a lot were cut up for a study of shelf life in the end: none is there to be released. */
function filesOf(story: StripLot): LotFiles {
  const { lot, number, day } = story;
  const { machine, recipe } = STRIP_CELLS[number % STRIP_CELLS.length]!;
  const build = `${machine}-${400 + number}`;
  const random = new Random(3175 + number);
  const measured = dayAfter(day, 2);
  const rows = STRIP_CHARACTERISTICS.flatMap((item) =>
    serials(story).map((serial) => {
      const code = item.characteristic as string;
      const { method, revision } = item.method as { readonly method: string; readonly revision: number };
      return [
        ...[
          serial,
          '',
          code,
          '1',
          measuredValue(code, story, random),
          item.ucum as string,
          '',
          '',
          at(measured, '09:30'),
        ],
        ...[GAUGES[code]!, PEOPLE.secondAnalyst, method, String(revision), '', '', ''],
      ];
    }),
  );
  const document: Document = {
    ...{ kind: 'lot', format: 1, lot, family: STRIP_FAMILY, specification: STRIP_SPECIFICATION },
    opened: { by: PEOPLE.process, at: at(day, '05:45') },
    builds: [
      {
        ...{ build, machine, run: 400 + number, closedAt: at(day, '06:30'), openedAt: at(day, '17:30') },
        operator: number % 2 ? PEOPLE.operator : PEOPLE.process,
        powder: [{ state: day < BLENDED ? FIRST_POWDER : BLEND, chargedG: '200' }],
      },
    ],
    implants: serials(story).map((serial, index) => ({
      ...{ serial, case: `K-${lot}`, designIteration: 1, build, recipe },
      zones: [{ zone: `S${index + 1}`, recipeZone: 'span', layers: { from: 1, to: 24 } }],
    })),
    fates: serials(story).map((part) => ({
      part,
      as: 'tested',
      at: at(dayAfter(day, 10), '12:00'),
      by: PEOPLE.quality,
    })),
  };
  return {
    documents: {
      [`lots/${lot}/lot.yaml`]: document,
      [`cases/K-${lot}.yaml`]: {
        ...{ kind: 'case', format: 1, case: `K-${lot}`, family: STRIP_FAMILY, neededBy: dayAfter(day, 40) },
        ...{ designIteration: 1, anatomicalSite: 'rib', side: 'left' },
        prescriber: { name: 'Dr R. Halvorsen (fictional)', institution: 'Fjordside Clinic (fictional)' },
        prescription: { reference: `RX-${lot}`, at: at(dayAfter(day, -12), '10:00') },
      },
    },
    texts: { [`lots/${lot}/results/strips.csv`]: writeCsv(RESULT_COLUMNS.all, rows) },
  };
}

function together(lots: readonly StripLot[], documents: Readonly<Record<string, Document>>): LotFiles {
  const made = lots.map(filesOf);
  return {
    documents: Object.assign({}, documents, ...made.map((one) => one.documents)),
    texts: Object.assign({}, ...made.map((one) => one.texts)),
  };
}

/** Lots of an act are assessed as they come in. */
export type StripAct = Act & { readonly lots: readonly string[] };

const act = (
  when: string,
  title: string,
  folder: string,
  lots: readonly StripLot[],
  site: Record<string, Document>,
) => ({
  ...{ at: when, title, folder, lots: lots.map(({ lot }) => lot) },
  files: () => together(lots, site),
});

/** Folder of machines and gauges: what is done to them later is written there. */
export const STRIP_EQUIPMENT = 'strips-gauges';

export const STRIP_ACTS: readonly StripAct[] = [
  act('2026-01-17T07:00:00Z', 'machines and gauges for rib strips', STRIP_EQUIPMENT, [], {
    ...gauges('2026-01-17'),
    ...Object.assign({}, ...STRIP_CELLS.map(({ machine }) => stripCell(machine, '2025-09-19'))),
  }),
  act(
    '2026-01-17T08:00:00Z',
    'earlier lots of rib strips, brought in together with what they were made on',
    'strips-2025',
    LOTS_OF_STRIPS.slice(0, EARLY),
    stripSite,
  ),
  act('2026-01-17T09:00:00Z', 'capability plans of rib strips', 'strips-plans', [], stripPlans),
  act('2026-08-03T09:00:00Z', 'one gauge has a new probe', STRIP_EQUIPMENT, [], gauges('2026-08-03')),
  act(
    '2026-08-03T10:00:00Z',
    'the other lots of rib strips',
    'strips-2026',
    LOTS_OF_STRIPS.slice(EARLY),
    stripSiteLater,
  ),
];

import { Random } from '../../base/random.js';
import { writeCsv } from '../../dossier/csv.js';
import { RESULT_COLUMNS } from '../../kinds/result.js';
import { type LogDesign, openedAtMs } from '../log.js';
import { builtZones, type LotFiles, placeOf } from '../lots.js';
import { type Document, MACHINE, PEOPLE } from '../names.js';
import type { Move } from '../stories/acts.js';
import { dimensionsAsQif } from './pin-lab.js';
import { type LoggedBuild, recordBuild } from './pin-recording.js';
import {
  alteredCertificate,
  DIMENSIONS_GAUGE,
  DIMENSIONS_PROFILE,
  LATE_RECEIPT,
  lateReceipt,
  limitsOf,
  PIN_CERTIFICATES,
  PIN_FAMILY,
  PIN_POWDER,
  PIN_RECIPE,
  PIN_RIG,
  PIN_SITE,
  PIN_SPECIFICATION,
  PIN_STUDY,
  PROFILE,
} from './pin-site.js';

export const PIN_LOT = 'Z-2026-01';
const RUN = 301;
const BUILD = `${MACHINE}-${RUN}`;
const FOLDER = `lots/${PIN_LOT}`;
export const PINS = [1, 2].map((n) => `ZP-${RUN}-${n}`);
const COUPONS = [1, 2].map((n) => `ZW${RUN}-${n}`);
/** Where the export of the spectrometer lies in the folder of the lot. */
export const PIN_EXPORT = `exports/${PROFILE}/2026-11-11.csv`;
/** And the results of the coordinate measuring machine. */
export const PIN_DIMENSIONS = `exports/${DIMENSIONS_PROFILE}/ZP-${RUN}.qif`;

/** How the build went on. */
export const PIN_BUILD: LogDesign = {
  ...{ periodMs: 15_000, rowsPerSegment: 4, closedAtMs: Date.parse('2026-11-09T06:30:00Z') },
  zones: ['P1-span', 'P2-span', 'C1-bar', 'C2-bar'].map((logged) => ({ logged, recipeZone: 'span' as const })),
};

const openedAt = new Date(openedAtMs(PIN_BUILD)).toISOString();

const caseDocument = (n: number): Document => ({
  ...{ kind: 'case', format: 1, case: `K-${RUN}-${n}`, family: PIN_FAMILY, neededBy: '2026-12-10', designIteration: 1 },
  ...{ anatomicalSite: 'metacarpal', side: n === 1 ? 'left' : 'right' },
  prescriber: { name: 'Dr R. Halvorsen (fictional)', institution: 'Fjordside Clinic (fictional)' },
  prescription: { reference: `RX-${RUN}-${n}`, at: '2026-10-28T10:00:00Z' },
});

/** What is known before the chamber is closed. */
const planned: Document = {
  ...{ build: BUILD, machine: MACHINE, run: RUN, operator: PEOPLE.operator, changeover: 'CO-1' },
  ...{ closedAt: new Date(PIN_BUILD.closedAtMs).toISOString(), openedAt },
};

const lotDocument = (build: Document, more: Document = {}): Document => ({
  ...{ kind: 'lot', format: 1, lot: PIN_LOT, family: PIN_FAMILY, specification: PIN_SPECIFICATION },
  opened: { by: PEOPLE.process, at: '2026-11-06T11:00:00Z' },
  builds: [{ ...planned, ...build }],
  implants: PINS.map((serial, index) => ({
    ...{ serial, case: `K-${RUN}-${index + 1}`, designIteration: 1, build: BUILD, recipe: PIN_RECIPE },
    ...{ zones: builtZones(PIN_BUILD.zones, `P${index + 1}`), ...placeOf(index + 1) },
  })),
  coupons: COUPONS.map((coupon, index) => ({
    ...{
      coupon,
      build: BUILD,
      recipe: PIN_RECIPE,
      zones: builtZones(PIN_BUILD.zones, `C${index + 1}`),
      study: PIN_STUDY,
    },
    ...{ standsFor: [PINS[index]!], rationale: 'coupon beside the pin, same zone class and layers (fictional)' },
    ...placeOf(index + 1),
  })),
  ...more,
});

/** What the pins need, their lot as a plan, and the build asked for at risk: its blend waits for a certificate. */
export const plannedPins = (): LotFiles => ({
  documents: {
    ...PIN_SITE,
    ...Object.fromEntries([1, 2].map((n) => [`cases/K-${RUN}-${n}.yaml`, caseDocument(n)])),
    [`${FOLDER}/lot.yaml`]: lotDocument({
      ...{ state: 'planned', powder: [{ state: PIN_POWDER, chargedG: '180' }], gas: [{ receipt: 'R-118' }] },
    }),
    [`risk/${BUILD}.yaml`]: {
      ...{ kind: 'risk-build', format: 1, build: BUILD, receipts: [LATE_RECEIPT], implants: PINS },
      ...{ why: 'surgery is fixed (fictional)', by: PEOPLE.process, at: '2026-11-06T11:30:00Z' },
    },
  },
  texts: { ...PIN_CERTIFICATES },
});

const cleaned = { step: 'clean', at: '2026-11-10T07:00:00Z', by: PEOPLE.operator, load: 'CL-301' };

/**
 * The same lot as it was built, cleaned, tested, packed and labelled; meanwhile the certificate came.
 * @param logged what the machine told of the build.
 */
export const builtPins = (logged: LoggedBuild): LotFiles => ({
  documents: {
    [`receipts/${LATE_RECEIPT}.yaml`]: lateReceipt(true),
    'consumables/BATH-1.yaml': {
      ...{ kind: 'consumable', format: 1, consumable: 'BATH-1', category: 'bath', material: 'acid-bath' },
      materialSpecification: { material: 'acid-bath', revision: 1 },
      ...{ made: [{ receipt: 'R-144', quantity: { value: '1', ucum: 'L' } }], by: PEOPLE.operator },
      inUseFrom: '2026-11-08T07:40:00Z',
    },
    'loads/CL-301.yaml': {
      ...{ kind: 'process-load', format: 1, load: 'CL-301', step: 'clean', by: PEOPLE.operator, equipment: 'BT-1' },
      ...{ startedAt: '2026-11-10T06:50:00Z', at: cleaned.at, implants: PINS, coupons: COUPONS },
      cycle: [{ parameter: 'time in the bath', value: '2', ucum: 'min', min: '1', max: '3' }],
      consumables: [{ consumable: 'BATH-1' }],
    },
    [`${FOLDER}/lot.yaml`]: lotDocument(
      {
        powder: [{ state: PIN_POWDER, chargedG: '180', depositedG: '61', recoveredG: '109', wasteG: '8' }],
        gas: [{ receipt: 'R-118' }, { receipt: 'R-145', bottle: 'B-7', from: '2026-11-09T07:30:00Z' }],
        consumables: [{ consumable: 'TIP-7', step: 'peen', uses: 5 }],
        lineClearance: { by: PEOPLE.process, at: '2026-11-09T06:15:00Z' },
        log: logged.log,
      },
      {
        steps: [cleaned, { step: 'pack', at: '2026-11-11T13:00:00Z', by: PEOPLE.operator }],
        labels: {
          ...{ printed: 2, used: 2, destroyed: 0 },
          inspected: { sample: 2, by: PEOPLE.secondAnalyst, at: '2026-11-11T14:00:00Z' },
        },
        reason: 'it was built (fictional)',
      },
    ),
  },
  texts: {
    [`${FOLDER}/results/measured.csv`]: measured(),
    [`${FOLDER}/${PIN_EXPORT}`]: exported,
    [`${FOLDER}/${PIN_DIMENSIONS}`]: dimensions(),
  },
  bytes: Object.fromEntries(Object.entries(logged.files).map(([name, bytes]) => [`${FOLDER}/${name}`, bytes])),
});

function measured(): string {
  const random = new Random(3000 + RUN);
  const row = (value: readonly string[], at: string, how: readonly string[], who: readonly string[]) => [
    ...[...value, '', `2026-11-11T${at}:00Z`, ...how, '1', ...who, ''],
  ];
  const strength = COUPONS.flatMap((coupon) =>
    ['T1', 'T2'].map((piece) => {
      const found = random.around(232, 2).toFixed(1);
      const by = [PIN_RIG, PEOPLE.analyst, 'TM-RM'];
      return row([coupon, piece, 'rm', '1', found, 'MPa', ''], '08:30', by, ['', '']);
    }),
  );
  return writeCsv(RESULT_COLUMNS.all, strength);
}

/** As the coordinate measuring machine writes it. */
function dimensions(): string {
  const random = new Random(4000 + RUN);
  return dimensionsAsQif(
    DIMENSIONS_GAUGE,
    limitsOf('thickness'),
    PINS.map((serial, index) => ({
      ...{ serial, valueMm: random.around(1.502, 0.004).toFixed(3), standardUncertaintyMm: '0.002' },
      at: `2026-11-11T09:3${index}:00Z`,
    })),
  );
}

/** As the instrument writes it: its own columns, decimal commas, the clock on its wall. */
const exported = [
  'Spectrometer 4 (fictional)',
  'Probe;Teil;Zeit;Mg;u(Mg);Fe',
  `${COUPONS[0]};A1;11.11.2026 12:30:00;0,91;0,012;64`,
  `${COUPONS[1]};A1;11.11.2026 12:40:00;0,93;0,012;58`,
  '',
].join('\n');

/** From what was received to pins that are released. What the machine told is kept between them, so each demo has its own. */
export function pinMoves(): readonly Move[] {
  let logged: LoggedBuild | undefined;
  return [
    {
      ...{ at: '2026-11-06T10:00:00Z', does: 'be turned away', folder: 'pins', code: 'dcc-signature' },
      ...{ title: 'a certificate that was changed after the laboratory had signed it', files: alteredCertificate },
    },
    {
      ...{ at: '2026-11-06T12:00:00Z', does: 'bring in', title: 'pins of a zinc alloy, planned at risk' },
      ...{ folder: 'pins', files: plannedPins },
    },
    {
      ...{ at: openedAt, does: 'record', title: 'the build of the pins, recorded as its machine tells it' },
      record: async (folder) => {
        logged = await recordBuild(PIN_BUILD, RUN, folder);
      },
    },
    {
      ...{ at: '2026-11-11T15:00:00Z', does: 'bring in', title: 'pins as built and tested, and the late certificate' },
      ...{ folder: 'pins', files: () => builtPins(logged!) },
    },
    { at: '2026-11-12T09:00:00Z', does: 'close out', lot: PIN_LOT },
  ];
}

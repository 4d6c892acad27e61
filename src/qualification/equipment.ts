import { type Document, FICTION, MACHINE, PEOPLE } from './names.js';

interface InstrumentFacts {
  readonly code: string;
  readonly title: string;
  readonly measures: string;
  readonly calibrations: readonly { readonly at: string; readonly due: string; readonly wasOff?: true }[];
}

export const instrument = ({ code, title, measures, calibrations }: InstrumentFacts, day: string): Document => ({
  kind: 'instrument',
  format: 1,
  instrument: code,
  title,
  measures,
  calibrations: calibrations
    .filter(({ at }) => at <= day)
    .map(({ at, due, wasOff }, index) => ({
      certificate: `CAL-${code}-${index + 1}`,
      at: `${at}T09:00:00+02:00`,
      due: `${due}T09:00:00+02:00`,
      asFound: wasOff ? 'out of tolerance' : index === 0 ? 'not recorded' : 'in tolerance',
      asLeft: 'in tolerance',
      traceableTo: `national standards, through an accredited laboratory (${FICTION})`,
    })),
});

const yearly = [
  { at: '2025-09-02', due: '2026-09-02' },
  { at: '2026-08-25', due: '2027-08-25' },
];

const INSTRUMENTS: readonly InstrumentFacts[] = [
  {
    code: 'RIG-1',
    title: 'Tensile rig 10 kN',
    measures: 'force, extension',
    calibrations: yearly,
  },
  {
    code: 'BAL-1',
    title: 'Balance, 0.01 mg',
    measures: 'mass',
    calibrations: yearly,
  },
  {
    code: 'BAL-2',
    title: 'Balance, 0.1 mg',
    measures: 'mass',
    calibrations: [
      { at: '2025-11-03', due: '2026-11-03' },
      { at: '2026-11-21', due: '2027-11-21', wasOff: true },
    ],
  },
  {
    code: 'MIC-3',
    title: 'Micrometer 0–25 mm',
    measures: 'length',
    calibrations: yearly,
  },
  {
    code: 'CT-1',
    title: 'X-ray tomograph',
    measures: 'porosity, geometry',
    calibrations: yearly,
  },
  {
    code: 'SURF-1',
    title: 'Areal surface microscope',
    measures: 'roughness',
    calibrations: yearly,
  },
  {
    code: 'XRD-1',
    title: 'X-ray diffractometer',
    measures: 'residual stress',
    calibrations: yearly,
  },
  {
    code: 'KF-1',
    title: 'Karl Fischer titrator',
    measures: 'moisture of powder',
    calibrations: yearly,
  },
  {
    code: 'OX-1',
    title: 'Oxygen sensor of the chamber',
    measures: 'oxygen in argon, by volume',
    calibrations: yearly,
  },
  {
    code: 'HYG-1',
    title: 'Hygrometer of the chamber',
    measures: 'moisture in argon, by volume',
    calibrations: yearly,
  },
];

/** The instruments that were there on a day, with the calibrations that they had had. */
export const instrumentsOn = (day: string): Record<string, Document> =>
  Object.fromEntries(
    INSTRUMENTS.filter(({ calibrations }) => calibrations.some(({ at }) => at <= day)).map((facts) => [
      `equipment/${facts.code}.yaml`,
      instrument(facts, day),
    ]),
  );

/** What has to be done to the machine twice a year, done in one week. */
export const upkeep = (day: string, due: string): Document[] =>
  ['maintenance', 'leak test', 'power check'].map((what) => ({
    what,
    at: `${day}T14:00:00+02:00`,
    due: `${due}T14:00:00+02:00`,
    result: 'passed',
    by: PEOPLE.process,
  }));

const UPKEEP_DAYS = [
  ['2025-09-11', '2026-03-11'],
  ['2026-02-19', '2026-08-31'],
  ['2026-08-27', '2027-02-27'],
] as const;

/** The machine with what had been done to it by a day. */
export const machineOn = (day: string): Document => ({
  kind: 'machine',
  format: 1,
  machine: MACHINE,
  title: `Hybrid cell 1 (${FICTION})`,
  location: 'laboratory 2',
  does: ['deposit', 'peen', 'mill'],
  operation: 'hybrid build',
  upkeep: UPKEEP_DAYS.filter(([done]) => done <= day).flatMap(([done, due]) => upkeep(done, due)),
});

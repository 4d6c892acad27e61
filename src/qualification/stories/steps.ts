import type { LotFiles } from '../lots.js';
import { type Document, PEOPLE } from '../names.js';
import { type CoatedLot, couponsOf, serialOf, serialsOf } from './lots.js';
import { COATER, DRY_STORE, SEALER, STERILISER } from './names.js';
import { ALL, FIRST, SECOND, THIRD } from './three-lots.js';

export const dayAfter = (day: string, days = 1): string =>
  new Date(Date.parse(day) + days * 86_400_000).toISOString().slice(0, 10);

export const done = (step: string, at: string, more: Document = {}): Document => ({
  step,
  at,
  by: PEOPLE.operator,
  ...more,
});
export const coatLoadOf = ({ run }: CoatedLot): string => `CT-${run}`;
const cleanedAt = ({ day }: CoatedLot): string => `${dayAfter(day)}T05:30:00Z`;
const coatedAt = ({ day }: CoatedLot): string => `${dayAfter(day, 2)}T12:00:00Z`;

export const firstSteps = (story: CoatedLot): Document[] => [
  done('clean', cleanedAt(story)),
  done('dry', `${dayAfter(story.day)}T07:00:00Z`),
  done('coat', coatedAt(story), { load: coatLoadOf(story) }),
];

interface Run {
  readonly load: string;
  readonly step: 'coat' | 'pack' | 'sterilise';
  readonly startedAt: string;
  readonly at: string;
  readonly cycle: readonly Document[];
  readonly parts: Document;
  readonly more?: Document;
}

const loadDocument = ({ load, step, startedAt, at, cycle, parts, more }: Run): Document => ({
  ...{ kind: 'process-load', format: 1, load, step, startedAt, at, by: PEOPLE.operator, cycle },
  ...parts,
  ...more,
});

const partsOf = (story: CoatedLot): Document => ({ implants: serialsOf(story), coupons: couponsOf(story) });

export const coatLoad = (story: CoatedLot): Document =>
  loadDocument({
    load: coatLoadOf(story),
    step: 'coat',
    startedAt: `${dayAfter(story.day, 2)}T08:00:00Z`,
    at: coatedAt(story),
    cycle: [{ parameter: 'bath temperature', value: '21.4', ucum: 'Cel', min: '20', max: '24' }],
    parts: partsOf(story),
    more: { contractor: COATER },
  });

/** What is left to be packed: of the second lot one implant, with its coupons. */
const PACKED = {
  implants: [...serialsOf(FIRST), serialOf(SECOND, 3), ...serialsOf(THIRD)],
  coupons: ALL.flatMap(couponsOf),
};
const [PACKED_AT, FAILED_AT, REPEATED_AT] = ['2026-10-13T10:20:00Z', '2026-10-14T12:00:00Z', '2026-10-16T12:00:00Z'];
const BARRIER = '2027-10-12';

export const packLoad = loadDocument({
  load: 'PA-1',
  step: 'pack',
  startedAt: PACKED_AT.replace('T10:20', 'T09:00'),
  at: PACKED_AT,
  cycle: [{ parameter: 'temperature of the seal', value: '131', ucum: 'Cel', min: '125', max: '140' }],
  parts: PACKED,
  more: { equipment: SEALER, expiry: BARRIER },
});

const sterileLoad = (load: string, at: string, result: 'passed' | 'failed'): Document =>
  loadDocument({
    load,
    step: 'sterilise',
    startedAt: at.replace('T12', 'T08'),
    at,
    cycle: [{ parameter: 'dose', value: '26.8', ucum: 'kGy', min: '25', max: '32' }],
    parts: PACKED,
    more: {
      contractor: STERILISER,
      indicators: [
        { what: 'dosimeter on the box', result: 'passed' },
        { what: 'biological indicator in the middle', result },
      ],
      expiry: BARRIER,
    },
  });

/** Pooled over the three lots: an indicator failed, and all of it went through again. */
export const FAILED_LOAD = sterileLoad('ST-1', FAILED_AT, 'failed');
export const REPEATED_LOAD = sterileLoad('ST-2', REPEATED_AT, 'passed');

export const lastSteps: Document[] = [
  done('pack', PACKED_AT, { load: 'PA-1' }),
  done('sterilise', FAILED_AT, { load: 'ST-1' }),
  done('sterilise', REPEATED_AT, { load: 'ST-2' }),
];

/** Two labels for each implant that goes, one of them a trial that was torn up. */
export const labelsFor = (units: readonly string[]): Document => ({
  printed: 2 * units.length + 1,
  used: 2 * units.length,
  destroyed: 1,
  inspected: { sample: units.length, by: PEOPLE.secondAnalyst, at: '2026-10-19T13:00:00Z' },
  read: units,
});

/** Humidity of the dry store while the first lot lay there, every quarter of an hour. */
export function dryStore(): LotFiles {
  const [from, to] = ['2026-09-22T08:00:00Z', '2026-09-23T08:00:00Z'];
  const rows: string[] = [];
  for (let at = Date.parse(from); at <= Date.parse(to); at += 900_000) {
    rows.push(`${new Date(at).toISOString()},,,,${(3.6 + (rows.length % 7) / 10).toFixed(1)}`);
  }
  const stay = { from: '2026-09-22T08:15:00Z', to: '2026-09-23T06:00:00Z' };
  return {
    documents: {
      'places/DS-1.yaml': {
        kind: 'storage-place',
        format: 1,
        place: DRY_STORE,
        title: 'Dry store of laboratory 3 (fictional)',
        what: 'dry store',
        windows: [{ channel: 'humidity', ucum: '%', above: { alert: '8', action: '10', reject: '20' } }],
        instruments: [{ channel: 'humidity', instrument: 'HYG-3' }],
        logs: [{ file: 'DS-1.csv', from, to, nominalPeriodMs: 900_000, gapLimitMs: 2_700_000 }],
        stays: serialsOf(FIRST).map((implant) => ({ implant, ...stay })),
      },
    },
    texts: { 'places/DS-1.csv': `timestamp,layer,zone,step,humidity\n${rows.join('\n')}\n` },
  };
}

import type { KindName } from '../kinds/catalogue.js';
import { UPKEEP } from '../kinds/machine.js';
import { EXPIRING } from '../report/phrases/expiring.js';
import type { Reads } from '../store/repositories.js';

/** Something that ends on a day, if nobody renews it. */
export interface Ending {
  readonly sort: 'calibration' | 'upkeep' | 'material' | 'qualification' | 'validation' | 'permission';
  readonly what: string;
  readonly key: string;
  /** `2031-05-04`. */
  readonly on: string;
}

/** Something that ends soon, or has ended and was not renewed. */
export interface Expiring extends Ending {
  readonly overdue: boolean;
}

const DAY_MS = 86_400_000;
/** What ended longer ago than this concerns nobody any more. */
const LONGEST_OVERDUE_DAYS = 90;

/** Kinds of the documents that say when something ends. */
export const ENDING_KINDS = [
  'instrument',
  'receipt',
  'person',
  'machine',
  'route-permission',
  'process-validation',
] as const satisfies KindName[];

/** When calibrations, upkeep, trainings, materials, permissions and process validations end, by what is on record of each now. */
export async function endings({ entries }: Pick<Reads, 'entries'>): Promise<Ending[]> {
  const latest = await entries.lists(ENDING_KINDS);
  return [
    ...latest('instrument').flatMap(({ key, body }) => {
      const due = body.calibrations
        .map((calibration) => calibration.due)
        .sort()
        .at(-1);
      return due === undefined
        ? []
        : [{ sort: 'calibration' as const, what: EXPIRING.calibration(body.title), key, on: due.slice(0, 10) }];
    }),
    ...latest('receipt').flatMap(({ key, body }) =>
      body.expiry === undefined || body.status === 'rejected'
        ? []
        : [{ sort: 'material' as const, what: body.material, key, on: body.expiry }],
    ),
    ...latest('person').flatMap(({ key, body }) =>
      body.qualifications.flatMap(({ operation, to }) =>
        to === undefined
          ? []
          : [{ sort: 'qualification' as const, what: EXPIRING.qualification(body.name, operation), key, on: to }],
      ),
    ),
    ...latest('machine').flatMap(({ key, body }) =>
      UPKEEP.flatMap((what) => {
        const due = (body.upkeep ?? [])
          .filter((upkeep) => upkeep.what === what)
          .map((upkeep) => upkeep.due)
          .sort()
          .at(-1);
        return due === undefined
          ? []
          : [{ sort: 'upkeep' as const, what: EXPIRING.upkeep(what, body.title), key, on: due.slice(0, 10) }];
      }),
    ),
    ...latest('route-permission').flatMap(({ key, body }) =>
      body.to === undefined
        ? []
        : [{ sort: 'permission' as const, what: EXPIRING.permission(body.title), key, on: body.to }],
    ),
    ...latest('process-validation').map(({ key, body }) => ({
      sort: 'validation' as const,
      what: EXPIRING.processValidation(body.title),
      key,
      on: body.validUntil.slice(0, 10),
    })),
  ];
}

/** Those that end within so many days of a moment, soonest first. */
export function expiringWithin(ends: readonly Ending[], moment: Date, days: number): Expiring[] {
  const now = moment.getTime();
  const today = new Date(now).toISOString().slice(0, 10);
  const until = new Date(now + days * DAY_MS).toISOString().slice(0, 10);
  const since = new Date(now - LONGEST_OVERDUE_DAYS * DAY_MS).toISOString().slice(0, 10);
  return ends
    .filter(({ on }) => on >= since && on <= until)
    .map((end) => ({ ...end, overdue: end.on < today }))
    .sort((a, b) => (a.on < b.on ? -1 : 1));
}

import type { ExpiryBound } from '../../assessment/expiry.js';
import { ABSENT } from './absent.js';
import { HEADS } from './heads.js';

/** Words of the section "post process" of the lot record. */
export const POST_PROCESS = {
  step: 'Step',
  steps: 'Steps after the build',
  when: 'When',
  by: 'By',
  load: 'Load',
  parts: 'Parts',
  note: 'Note',
  noneNamed: ABSENT.noneNamed,
  wholeLot: HEADS.wholeLot,
  none: ABSENT.none,
  noStep: 'No step was recorded.',
  loads: 'Loads in which parts of the lot were',
  noLoad: 'No load was recorded in which a part of the lot was.',
  cycle: 'Cycle, with its limits',
  indicators: 'Indicators',
  indicatorSays: { passed: 'passed', failed: 'failed' },
  accepted: 'Accepted by',
  notAsked: 'not asked',
  notAccepted: 'nobody',
  cycleValue: (of: {
    readonly parameter: string;
    readonly value: string;
    readonly unit: string;
    readonly min?: string | undefined;
    readonly max?: string | undefined;
  }) =>
    `${of.parameter} ${of.value} ${of.unit} (${
      [...(of.min === undefined ? [] : [`from ${of.min}`]), ...(of.max === undefined ? [] : [`to ${of.max}`])].join(
        ' ',
      ) || 'no limit'
    })`,
  /** @param own `null`: every part of the lot. */
  partsOf: (own: readonly string[] | null, others: number) =>
    `${own === null ? HEADS.wholeLot : own.join(', ')}${others === 0 ? '' : `; ${others} of other lots`}`,
  places: 'Places in which parts and powder lay',
  place: 'Place',
  held: 'Held',
  logged: 'Logged there',
  notLogged: 'not all the time',
  delivered: 'Delivered',
  sterileState: { sterile: 'sterile', 'non-sterile': 'non-sterile' },
  expiry: 'Expiry',
  expires: (day: string, bound: string) => `${day}, by ${bound}`,
  expiryOf: (serials: readonly string[], says: string) => `${serials.join(', ')}: ${says}`,
  noExpiry: 'none: not packed yet, or nothing bounds it',
  reworkBy: (instruction: string, revision: number) => `rework by ${instruction} revision ${revision}`,
};

/** What ends the time in which an implant may be used. */
export const EXPIRY_BOUNDS: Readonly<Record<ExpiryBound, string>> = {
  'shelf life': 'its shelf life',
  'sterile barrier': 'its sterile barrier',
  'age of images': 'the age of its images',
};

import { ABSENT } from './absent.js';

/** Words of the section "recipe" of the lot record. */
export const RECIPE = {
  groupAndMachine: 'Group; machine',
  effectiveFrom: 'Effective from',
  approval: 'Approval',
  settingsOf: (key: string) => `Settings of ${key}: what it sets, and what was logged in the zones of all parts`,
  zone: 'Zone, build (times built)',
  zones: (zones: readonly string[]) => `Zones: ${zones.join('; ')}.`,
  zoneOf: (zone: string, title: string, zoneClass: string, from: number, to: number) =>
    `${zone} is the ${title}, class ${zoneClass}, layers ${from} to ${to}`,
  step: 'Step',
  stepOf: (step: string, every: number) => (every === 1 ? step : `${step}, every ${every} layers`),
  setting: 'Setting',
  set: 'Set',
  builtOf: (zone: string, build: string, times: number) => `${zone}, ${build} (${times})`,
  means: 'Means of the zones',
  allowed: 'Allowed mean',
  actual: 'Least to greatest',
  followed: 'Followed',
  inNoPart: 'no part of this lot has it',
  chamber: 'chamber, every step',
  windows: (key: string) => `Windows of ${key}: alert is noted, action needs a decision, reject fails what it covers`,
  where: 'Where',
  channel: 'Channel',
  unit: 'Unit',
  alert: 'Alert',
  action: 'Action',
  reject: 'Reject',
  countsFrom: 'Counts from',
  none: ABSENT.none,
  standing: (by: string, at: string, how: string) => `${by} at ${at}: ${how}`,
  same: 'It is the same recipe in the same revision: no setting differs.',
  other:
    'It is another recipe or revision than below; what differs between two revisions of one recipe, the audit trail tells.',
  before: (build: string, lot: string, revisionKey: string, detail: string) =>
    `The build before these in the family was ${build} of lot ${lot}, made by ${revisionKey}. ${detail}`,
  noneBefore: 'No earlier build of the family is in the lot file, so there is nothing to compare the recipe with.',
  below: (level: string) => `below ${level}`,
  above: (level: string) => `above ${level}`,
  firstRow: 'the first row',
};

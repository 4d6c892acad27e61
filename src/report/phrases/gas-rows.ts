import { ABSENT } from './absent.js';

/** Words of the table on gas, in the record and on the page of a lot alike. */
export const GAS_ROWS = {
  caption: 'Gas by bottle or tank, beside the log of the chamber (dew points at 1 atm, over ice)',
  heads: {
    build: 'Build',
    gas: 'Gas',
    open: 'Open',
    used: 'Used',
    analysis: 'Certified',
    chamber: 'Logged, least to most',
  },
  gas: (receipt: string, material: string | undefined, bottle: string | undefined) =>
    [
      receipt,
      ...(bottle === undefined ? [] : [`bottle ${bottle}`]),
      ...(material === undefined ? [] : [material]),
    ].join(', '),
  throughout: 'all of the closure',
  open: (from: string, to: string, isChange: boolean) => `${isChange ? 'changed to it ' : ''}${from} to ${to}`,
  certified: (property: string, value: string, unit: string) => `${property} ${value} ${unit}`,
  withDewPoint: (stated: string, qualifier: string, dewPointC: string) =>
    `${stated} (dew point ${qualifier}${dewPointC.replace('-', '−')} °C)`,
  logged: (channel: string, least: number, most: number, unit: string) => `${channel} ${least} to ${most} ${unit}`,
  notLogged: 'not logged',
  noCertificate: ABSENT.noCertificate,
  notStated: ABSENT.notStated,
  noGas: 'No gas is named.',
  lane: (receipt: string, bottle: string | undefined) => `gas ${bottle ?? receipt}`,
  changed: (receipt: string, bottle: string | undefined) => `gas changed to ${bottle ?? receipt}`,
};

import { ABSENT } from './absent.js';
import { spreadText } from './rounded.js';

/** Words of the tables on powder, in the record and on the page of a lot alike. */
export const POWDER_ROWS = {
  input: (name: string, massG: string) => `${name} ${massG} g`,
  grams: (massG: string) => `${massG} g`,
  weighed: (massG: string | undefined) => (massG === undefined ? ABSENT.notStated : `${massG} g`),
  recovered: (massG: string | undefined, into: string | undefined) =>
    massG === undefined ? ABSENT.notStated : `${massG} g${into === undefined ? '' : ` into ${into}`}`,
  /** What is missing of what was charged, and what may be. */
  missing: (massG: string | undefined, percent: number | undefined, most: string | undefined) =>
    massG === undefined
      ? ABSENT.notStated
      : `${massG} g (${percent === 0 ? '0' : spreadText(percent!)} %${most === undefined ? '' : ` of at most ${most} %`})`,
  cameOut: (massG: string, lossG: string | undefined) => `${massG} g${lossG === undefined ? '' : `, ${lossG} g lost`}`,
  madeBy: (operation: string, at: string, by: string) => `${operation} ${at}, ${by}`,
  weighedWith: (instrument: string) => `weighed with ${instrument}`,
  hopper: (hopper: string) => `in ${hopper}`,
  sieve: (meshUm: string) => `sieve ${meshUm} µm`,
  drying: (temperatureC: string, hours: string, vacuum: string) =>
    `${temperatureC} °C for ${hours} h${vacuum === 'yes' ? ' in vacuum' : ''}`,
  measured: (test: { property: string; value: string; unit: string; uncertainty?: string | undefined }) =>
    `${test.property} ${test.value} ${test.unit}${test.uncertainty === undefined ? '' : ` (u ${test.uncertainty})`}`,
  heads: {
    state: 'State',
    made: 'Made',
    contains: 'Contains',
    cameOut: 'Came out',
    shares: 'Of it from, by mass',
    reuseCycle: 'Reuse cycle',
    virgin: 'Never used',
    measured: 'Measured of it',
  },
  states: 'Powder states, each a node of its own',
  balance: 'Powder of each build: charged = deposited + recovered + waste',
  balanceHeads: {
    build: 'Build',
    state: 'State',
    charged: 'Charged',
    deposited: 'Deposited',
    recovered: 'Recovered',
    waste: 'Waste',
    missing: 'Missing',
  },
};

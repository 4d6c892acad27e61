import { APPROVED, type Document, EFFECTIVE, FAMILY, FICTION, MACHINE, RECIPE, RECIPE_GROUP } from './names.js';

const window = (channel: string, ucum: string, above: object, below?: object): Document => ({
  channel,
  ucum,
  above,
  ...(below === undefined ? {} : { below }),
});

const LASER = window(
  'laser_power',
  'W',
  { alert: '315', action: '325', reject: '340' },
  { alert: '285', action: '275', reject: '260' },
);

/** What shows the settings of which the recorder has no channel. */
const PATH_PROGRAM = 'fixed in the path program (fictional)';

export const recipe: Document = {
  kind: 'recipe',
  format: 1,
  ...RECIPE,
  title: `Bridge plate, ${FICTION}`,
  group: RECIPE_GROUP,
  family: FAMILY,
  machine: MACHINE,
  effectiveFrom: EFFECTIVE,
  approval: APPROVED,
  chamber: {
    windows: [
      window('oxygen', '[ppm]', { alert: '20', action: '50', reject: '100' }),
      window('moisture', '[ppm]', { alert: '20', action: '40', reject: '80' }),
    ],
    inertChannels: ['oxygen', 'moisture'],
    joinBreaksWithinS: '10',
  },
  zones: [
    {
      zone: 'span',
      title: 'bridge between the eyelets',
      class: 'load-bearing',
      layers: { from: 1, to: 24 },
      steps: [
        {
          step: 'deposit',
          everyLayers: 1,
          parameters: [
            { parameter: 'laser power', set: '300', ucum: 'W', within: '5' },
            { parameter: 'scan speed', set: '8', ucum: 'mm/s', unlogged: PATH_PROGRAM },
            { parameter: 'powder flow', set: '3.2', ucum: 'g/min', within: '0.15' },
          ],
          windows: [LASER],
        },
        {
          step: 'peen',
          everyLayers: 4,
          parameters: [
            { parameter: 'needle force', set: '45', ucum: 'N', within: '2' },
            { parameter: 'step-over', set: '0.25', ucum: 'mm', unlogged: PATH_PROGRAM },
          ],
          windows: [],
        },
      ],
    },
    {
      zone: 'eyelet',
      title: 'ring around the screw hole',
      class: 'screw-hole',
      layers: { from: 1, to: 24 },
      steps: [
        {
          step: 'deposit',
          everyLayers: 1,
          parameters: [
            { parameter: 'laser power', set: '290', ucum: 'W', within: '5' },
            { parameter: 'scan speed', set: '9', ucum: 'mm/s', unlogged: PATH_PROGRAM },
          ],
          windows: [LASER],
        },
        {
          step: 'peen',
          everyLayers: 6,
          parameters: [{ parameter: 'needle force', set: '35', ucum: 'N', within: '2' }],
          windows: [],
        },
      ],
    },
    {
      zone: 'skin',
      title: 'upper contour',
      class: 'contour-skin',
      layers: { from: 25, to: 30 },
      steps: [
        {
          step: 'deposit',
          everyLayers: 1,
          parameters: [{ parameter: 'laser power', set: '290', ucum: 'W', within: '5' }],
          windows: [LASER],
        },
        {
          step: 'peen',
          everyLayers: 3,
          parameters: [{ parameter: 'needle force', set: '30', ucum: 'N', within: '2' }],
          windows: [],
        },
        {
          step: 'mill',
          everyLayers: 6,
          parameters: [
            { parameter: 'spindle speed', set: '18000', ucum: '/min', within: '300' },
            { parameter: 'depth of cut', set: '0.15', ucum: 'mm', unlogged: PATH_PROGRAM },
          ],
          windows: [],
        },
      ],
    },
  ],
};

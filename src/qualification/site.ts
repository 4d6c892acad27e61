import { instrumentsOn, machineOn } from './equipment.js';
import { argon, powder, powderReceipt, supplier } from './materials.js';
import { methods } from './methods.js';
import type { Document } from './names.js';
import { people } from './people.js';
import { recipe } from './recipe.js';
import { capabilityPlans, family, specification } from './specification.js';
import { equivalenceStudy, processValidation } from './validation.js';
import { WINDOW_DOCUMENTS } from './windows/window-site.js';

const MACHINE_FILE = 'equipment/HC-1.yaml';

/** What the cell had at the start, and what came later, by folder of the scenario and file. */
export const SITE_STEPS: readonly {
  readonly at: string;
  readonly title: string;
  readonly folder: string;
  readonly documents: Record<string, Document>;
}[] = [
  {
    at: '2025-09-19T15:00:00Z',
    title: 'the cell as it stood: people, equipment, methods, recipe, specification, first heat',
    folder: 'site',
    documents: {
      ...people,
      ...instrumentsOn('2025-09-19'),
      ...methods,
      [MACHINE_FILE]: machineOn('2025-09-19'),
      'suppliers/SILBERBACH.yaml': supplier('SILBERBACH', 'Silberbach Powders', 'magnesium alloy powder'),
      'suppliers/ARGENTIS.yaml': supplier('ARGENTIS', 'Argentis Gases', 'argon'),
      'families/bridge-plate.yaml': family,
      'recipes/BP-RECIPE-4.yaml': recipe,
      'validations/PV-1.yaml': processValidation,
      'studies/EQ-3.yaml': equivalenceStudy,
      'specifications/BP-SPEC-2.yaml': specification,
      ...WINDOW_DOCUMENTS,
      'receipts/R-101.yaml': powderReceipt({
        code: 'R-101',
        heat: 'H7731',
        received: '2025-09-16',
        iron: '0.0021',
        zinc: '0.46',
        calcium: '0.44',
      }),
      'receipts/R-102.yaml': argon('R-102', '2025-09-18'),
      'powder/PS-01.yaml': powder('PS-01', 'fill', '2025-09-19', [{ receipt: 'R-101', massG: '5000' }], '58'),
    },
  },
  {
    at: '2025-11-03T15:00:00Z',
    title: 'a second balance',
    folder: 'site',
    documents: instrumentsOn('2025-11-03'),
  },
  {
    at: '2026-02-18T15:00:00Z',
    title: 'a second heat, blended with what was left of the first',
    folder: 'site-2026-02',
    documents: {
      'receipts/R-117.yaml': powderReceipt({
        code: 'R-117',
        heat: 'H8012',
        received: '2026-02-16',
        iron: '0.0027',
        zinc: '0.45',
        calcium: '0.47',
      }),
      'receipts/R-118.yaml': argon('R-118', '2026-02-17'),
      'powder/PS-02.yaml': powder(
        'PS-02',
        'blend',
        '2026-02-18',
        [
          { state: 'PS-01', massG: '2400' },
          { receipt: 'R-117', massG: '2600' },
        ],
        '78',
      ),
    },
  },
  {
    at: '2026-02-19T15:00:00Z',
    title: 'the machine maintained, half a year after the first time',
    folder: 'site',
    documents: { [MACHINE_FILE]: machineOn('2026-02-19') },
  },
  {
    at: '2026-08-14T08:00:00Z',
    title: 'capability plans, with the lots so far as their baseline',
    folder: 'site-2026-08-plans',
    documents: capabilityPlans,
  },
  {
    at: '2026-08-25T15:00:00Z',
    title: 'a year later: every instrument calibrated again but one balance, which was not due',
    folder: 'site',
    documents: instrumentsOn('2026-08-25'),
  },
  {
    at: '2026-08-27T15:00:00Z',
    title: 'the machine maintained again',
    folder: 'site',
    documents: { [MACHINE_FILE]: machineOn('2026-08-27') },
  },
  {
    at: '2026-08-27T16:00:00Z',
    title: 'the blend topped up',
    folder: 'site-2026-08',
    documents: {
      'powder/PS-03.yaml': powder(
        'PS-03',
        'top-up',
        '2026-08-27',
        [
          { state: 'PS-02', massG: '2100' },
          { receipt: 'R-101', massG: '900' },
          { receipt: 'R-117', massG: '1000' },
        ],
        '102',
      ),
    },
  },
  {
    at: '2026-11-21T15:00:00Z',
    title: 'the second balance calibrated at last, and found off',
    folder: 'site',
    documents: instrumentsOn('2026-11-21'),
  },
];

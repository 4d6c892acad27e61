import { ABSENT } from './absent.js';

/** Words of the section on peening and machining of the lot record. */
export const PEENING_MACHINING = {
  caption: 'Media, tools and whatever else touched the parts and wears out',
  number: 'Number',
  what: 'What',
  of: (category: string, material: string) => `${category} of ${material}`,
  takenFrom: 'Taken from',
  receiptOf: (receipt: string, supplierLot: string) => `${receipt}, lot ${supplierLot} of the supplier`,
  inUse: 'In use',
  fromTo: (from: string, to: string | null) => (to === null ? `from ${from} on` : `from ${from} to ${to}`),
  usedIn: 'Used in',
  gas: 'gas of the chamber',
  uses: 'Uses',
  usesOf: (here: number, soFar: number, most: number) => `${here}; ${soFar} of ${most} so far`,
  notStated: ABSENT.notStated,
  none: 'The lot file and its loads name no media, no tool and nothing else that wears out.',
  settingsAt:
    'What the recipe sets for peening and machining, against what was logged, stands in the section on the recipe.',
};

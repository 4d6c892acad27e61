import type { Aspect, CellState } from '../lot-matrix.js';
import { verdictText } from './codes.js';

/** The page on which every implant of a lot stands against everything that is asked of it. */
export const LOT_MATRIX = {
  title: 'Every implant against everything that is asked of it',
  caption: 'Each cell says what the checks or values come to, and where they stand',
  captionOf: (block: number, blocks: number) => `Implants, part ${block} of ${blocks}`,
  asked: 'Asked of it',
  characteristic: (title: string, limits: string) => `${title}: ${limits}`,
  aspects: {
    identity: 'Identity, side and design',
    metal: 'Metal: accepted, within its limits',
    recipe: 'Recipe in force and followed, machine',
    log: 'Machine log',
    coupons: 'Coupons that speak for it',
    tests: 'How its tests were done',
    papers: 'People, order, documents, counts',
    finish: 'Cleaning and finish',
    load: 'Sterile load',
    label: 'Label',
  } satisfies Record<Aspect, string>,
  /** With a mark that a grey printer keeps apart. */
  states: {
    conforms: `✓ ${verdictText('conforms')}`,
    'does not conform': `✗ ${verdictText('does not conform')}`,
    'cannot be decided': `? ${verdictText('cannot be decided')}`,
    'blocks release': '! blocks release',
    'does not apply': '– does not apply',
    'only-done': '○ done; no load on record',
    'not-planned': '– not planned',
  } satisfies Record<CellState, string>,
  page: (page: string) => `p. ${page}`,
  noImplant: 'The lot has no implant.',
};

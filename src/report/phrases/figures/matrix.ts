import { counted } from '../counted.js';
import { told } from './listed.js';

/** Words of the picture that leads from the needs of a design to what shows that they are met, and to the lots behind it. */
export const MATRIX_FIGURE = {
  title: (family: string) => `From need to test and lot: design of ${family}`,
  continued: (family: string) => `From need to test and lot: design of ${family}, continued`,
  need: 'user need',
  input: 'design input',
  output: 'design output',
  study: 'study',
  control: 'risk control',
  lot: 'lot',
  moreLots: (more: number) => `and ${counted(more, 'lot')} more`,
  ofStudy: (study: string) => `of ${study}`,
  result: (result: string) => `study, ${result}`,
  validates: 'validated by',
  openGap: 'a gap is open',
  node: (title: string, lines: readonly string[]) => `${title} (${lines.join('; ')})`,
  arrow: (from: string, to: string) => `${from} to ${to}`,
  alt: (nodes: readonly string[], arrows: readonly string[]) =>
    `Graph from user needs to studies and lots.${told('It shows', nodes)}${told('Arrows', arrows)}`,
  caption: (drawn: number, all: number) =>
    `Arrows run from each need to its inputs, their outputs and the studies that show them, and on to risk controls that these studies verify and lots that they rest on; from an input, also to risk controls that share a characteristic with it; against the arrows, from test back to need. A thick border: a gap is open.${
      drawn < all ? ` The first ${drawn} of ${counted(all, 'way')} of the table are drawn.` : ''
    }`,
  further: 'Further ways of the same table.',
};

import { powderOperationText, receiptStatusText } from '../trade-codes.js';
import { told } from './listed.js';

/** Words of the picture that shows where the metal of a lot came from. */
export const GENEALOGY = {
  title: (lot: string) => `Where the metal of lot ${lot} came from`,
  receipt: (status: string) => `receipt, ${receiptStatusText(status)}`,
  heat: (supplier: string) => `heat, ${supplier}`,
  state: (operation: string, massG: number) => `${powderOperationText(operation)}, ${massG} g`,
  build: 'build',
  implant: (code: string) => `implant, case ${code}`,
  alt: (nodes: readonly string[], arrows: readonly string[]) =>
    `Graph from heats to implants.${told('It shows', nodes)}${told('Arrows', arrows)}`,
  node: (title: string, detail: string) => `${title} (${detail})`,
  arrow: (from: string, to: string) => `${from} to ${to}`,
  caption: 'Heats, receipts and powder states with their masses, up to the implants. Arrows run from what went in.',
};

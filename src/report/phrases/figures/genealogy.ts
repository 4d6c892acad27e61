import { powderOperationText, receiptStatusText } from '../trade-codes.js';
import { told } from './listed.js';

/** Words of the picture that shows where the metal of a lot came from. */
export const GENEALOGY = {
  title: (lot: string) => `Where the metal of lot ${lot} came from`,
  continued: (lot: string) => `Where the metal of lot ${lot} came from, continued`,
  receipt: (status: string, massG: string | undefined) =>
    `receipt, ${receiptStatusText(status)}${massG === undefined ? '' : `, ${massG} g`}`,
  earlierReceipt: 'receipt of an earlier lot',
  certificate: (number: string) => `certificate ${number}`,
  stock: (material: string) => `stock part, ${material}`,
  builtOn: 'built on',
  wasImplant: (lot: string) => (lot === '' ? 'was an implant' : `was an implant of lot ${lot}`),
  heat: (supplier: string) => `heat, ${supplier}`,
  state: (operation: string, massG: string) => `${powderOperationText(operation)}, ${massG} g`,
  build: 'build',
  implant: (code: string) => `implant, case ${code}`,
  mass: (massG: string) => `${massG} g`,
  moreHeats: (count: number) => (count === 1 ? 'and 1 more heat' : `and ${count} more heats`),
  earlier: (states: number) => (states === 1 ? '1 earlier state' : `${states} earlier states`),
  earlierDetail: 'in the table of states',
  alt: (nodes: readonly string[], arrows: readonly string[]) =>
    `Graph from heats to implants.${told('It shows', nodes)}${told('Arrows', arrows)}`,
  node: (title: string, lines: readonly string[]) => `${title} (${lines.join('; ')})`,
  arrow: (from: string, to: string, mass: string | undefined) =>
    `${from} to ${to}${mass === undefined ? '' : ` ${mass}`}`,
  caption: (isOnStock: boolean) =>
    `Heats, receipts and powder states with their masses and with the share of each heat, up to the implants. Arrows run from what went in, and name how much of it did.${isOnStock ? ' What was built on stock has an arrow from its stock part too, with the receipt and certificate of that; shares of heats are those of the metal that was built on it.' : ''}`,
};

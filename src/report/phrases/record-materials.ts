import { ABSENT } from './absent.js';

/** Words of the section "materials" of the lot record. */
export const MATERIALS = {
  receipts: 'Receipts',
  receipt: 'Receipt',
  materialAndHeats: 'Material, heats',
  supplierAndLot: 'Supplier, its lot',
  receivedExpiryStatus: 'Received; expiry; status',
  receivedOf: (received: string, expiry: string, status: string) => `${received}; ${expiry}; ${status}`,
  noneStated: ABSENT.noneStated,
  certificate: 'Certificate',
  certificateOf: (number: string, type: string, issued: string) => `${number}, ${type}, issued ${issued}`,
  noCertificate: ABSENT.noCertificate,
  paper: 'Paper',
  transcribedAndChecked: 'Transcribed and checked',
  transcribedOf: (transcribedBy: string, checkedBy: string) => `${transcribedBy}, checked by ${checkedBy}`,
  lines: (material: string) => `Certificates of ${material}, line by line`,
  outcomeOf: (unit: string, converted: string, outcome: string) =>
    `${unit === '' ? '' : ` ${unit}`}${converted === '' ? '' : ` (${converted})`}: ${outcome}`,
  notStated: ABSENT.notStated,
  noLines: 'No certificate states a line.',
  property: 'Property',
  limitOfTheSpecification: 'Limit of the specification',
  paperMissing: 'not among the evidence of this lot',
  noPaper: 'none: transcription only',
};

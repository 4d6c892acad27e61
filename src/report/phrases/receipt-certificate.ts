import { counted } from './counted.js';

/** Words of the page that tells where each value of a material certificate stands in its file. */
export const RECEIPT_CERTIFICATE = {
  lead: (material: string, supplierLot: string, supplier: string) => `${material}, lot ${supplierLot} of ${supplier}.`,
  heats: 'Heats',
  type: 'Type',
  issued: 'Issued',
  transcribed: (by: string, checkedBy: string | undefined) =>
    checkedBy === undefined ? `${by}, checked by nobody yet` : `${by}, checked by ${checkedBy}`,
  transcribedBy: 'Transcribed by',
  readBy: 'Read by',
  profile: (profile: string, revision: number) => `certificate profile ${profile}, revision ${revision}`,
  nobody: 'no profile: people transcribed it, and the file is read by people',
  file: 'The file as received',
  noFile: 'none',
  values: (count: number) => counted(count, 'value'),
  heads: {
    property: 'Property',
    value: 'Certified',
    unit: 'Unit',
    uncertainty: 'Uncertainty',
    method: 'Method',
    line: 'Line',
    column: 'Column',
    inFile: 'What stands there',
  },
  uncertainty: (standard: string | undefined, coverageFactor: string | undefined) => {
    if (standard === undefined) return 'none stated';
    return coverageFactor === undefined
      ? `${standard}, standard`
      : `${standard}, standard (stated with k = ${coverageFactor})`;
  },
  detectionLimit: (limit: string) => `detection limit ${limit}`,
  unknown: 'not told',
  /** So many characters of a line are shown. */
  cut: (text: string, most: number) => (text.length > most ? `${text.slice(0, most)} …` : text),
  link: 'where each value stands in the file',
};

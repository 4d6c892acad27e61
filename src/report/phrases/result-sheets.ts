import { counted } from './counted.js';

/** What pages of result sheets say. */
export const RESULT_SHEETS = {
  list: (lot: string) => `Result sheets: lot ${lot}`,
  sheet: (title: string, lot: string) => `${title}: results of lot ${lot}`,
  second: (title: string, lot: string) => `${title}: type again, lot ${lot}`,
  stored: (lot: string) => `Results stored: lot ${lot}`,
  waits: (values: number, parts: number) => `${counted(values, 'value')} on ${counted(parts, 'part')}`,
  method: (method: string, revision: number, title: string) => `${title} (${method} rev ${revision})`,
  begun: (title: string, changed: string) => `${title}, last changed ${changed}`,
  handed: (title: string, values: number, by: string, at: string) =>
    `${title}: ${counted(values, 'value')} by ${by}, handed over ${at}`,
  waitsAgain: (lot: string, sheet: string) => `to be typed again: results of lot ${lot}, ${sheet}`,
  who: (codes: readonly string[]) => `may type it: ${codes.join(', ') || 'nobody but whoever typed it'}`,
  head: { instrument: 'Instrument', analyst: 'Analyst', startedAt: 'Test begun', measuredAt: 'Measured' },
  row: { piece: 'Piece', value: 'Value', standardUncertainty: 'Standard uncertainty' },
  field: (what: string, title: string, specimen: string, n: number) => `${what}, ${title} of ${specimen} (${n})`,
  differs: (label: string, by: string, first: string, own: string) =>
    `${label}: ${by} typed ${first === '' ? 'nothing' : first}, you typed ${own === '' ? 'nothing' : own}; look at the source once more`,
  readOtherwise: (label: string) => `${label}: the second person read it otherwise; look at the source once more`,
  scanned: 'Specimen, typed or scanned',
  typedOf: (typed: number, all: number) => `${typed} of ${counted(all, 'value')} typed`,
  notFound: 'This specimen is not in the sheet',
  notHanded: 'This was not handed over',
  notStored: 'This was not stored',
  notAlike: 'The two did not type the same: nothing was stored',
  lookAgain: 'The sheet came back to you',
};

export const SHEET_REFUSALS = {
  specimenExpected: 'a specimen of this sheet, or a code that names one',
  specimenRemedy: 'look at the specimen again, or at the other sheets of the lot',
  gone: 'this sheet does not wait any more: it was stored, or taken back',
  nothingWaits: 'nothing of this method waits for this lot any more',
  notOwn: 'somebody else typed this sheet: they take it back, or you type it again',
  own: 'you typed this sheet yourself: a second person types it again',
};

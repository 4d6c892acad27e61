import { timeText } from '../../dossier/time-text.js';
import { counted } from './counted.js';

/** What a recall and a drill say around their facts. */

export const RECALL_FILES = {
  document: 'recall.yaml',
  reconciliation: 'reconciliation.csv',
  /** @param place of the institution in the list, from 1. */
  notice: (drill: boolean, place: number) => `${drill ? 'DRILL-' : ''}notice-${place}.txt`,
} as const;

export const RECALL_LINES = {
  title: (recall: string, drill: boolean) => `${drill ? 'DRILL: ' : ''}recall ${recall}`,
  expected: (units: number, here: number, institutions: number) =>
    `${counted(units, 'implant')}: ${here} with the cell, the others with ${counted(institutions, 'institution')}`,
  written: (folder: string) => `Written to ${folder}`,
  next: (isTaken: boolean, drill: boolean) =>
    `${isTaken ? 'Taken in' : 'Take recall.yaml in'}${drill ? '. It changes no hold and no place.' : `: every implant in it is on hold ${isTaken ? 'now' : 'from then on'}. Review and send the notices.`} Say in it where each implant was found, and close it.`,
  noFolder: (path: string, isFolder: boolean) =>
    `${path} ${isFolder ? 'holds something' : 'is a file'}; name a folder that is absent or empty`,
  personWithoutTake:
    '--person: expected with --take, since nothing is taken in without; add --take, or leave the person out',
  nothing: 'no implant on record has to do with it',
} as const;

interface Narrowed {
  readonly from?: string | undefined;
  readonly to?: string | undefined;
}

/** `used from 2031-03-05T12:00:00Z up to 2031-03-12T12:00:00Z`; undefined where no time was asked for. */
function usedWithinText({ from, to }: Narrowed): string | undefined {
  if (from === undefined && to === undefined) return undefined;
  return ['used', ...(from === undefined ? [] : [`from ${from}`]), ...(to === undefined ? [] : [`up to ${to}`])].join(
    ' ',
  );
}

/** What a recall asked for: `0417, used from 2031-03-05T12:00:00Z`. */
export const recallQuery = ({ id, ...narrowed }: Narrowed & { readonly id: string }): string =>
  [id, usedWithinText(narrowed) ?? []].flat().join(', ');

/** The identifier in what a recall asked for. */
export const identifierIn = (query: string): string => query.replace(/, used (from|up to) \S+( up to \S+)?$/, '');

/** The page that begins a recall or a drill from a trace. */
export const CALL_BACK = {
  title: (query: string) => `Call back what has to do with ${query}`,
  hint: 'One act: the document is taken in, every implant in it is on hold from then on, and a draft notice for each institution stands on its page. A drill changes no hold and no place, and tells nobody outside.',
  labels: {
    id: 'What is called back',
    what: 'What it is',
    code: 'Code',
    trigger: 'What made it necessary',
    reason: 'Reason',
    aim: 'Hours in which the cell wants to close it',
  },
  codeHint: 'That of a drill begins with DRILL.',
  what: { drill: 'a drill', recall: 'a recall' },
  asks: {
    code: 'Give it a code.',
    trigger: 'Say what made it necessary.',
    reason: 'Say why, in a few words.',
  },
  send: 'Begin it',
} as const;

/** Reasons of holds that the program places because of a recall. */
export const RECALL_HOLDS = { recalled: (recall: string) => `called back by recall ${recall}` };

const HOUR_MS = 3_600_000;

/** `3.5 h of 24 h that the cell aims at` */
export function timeUsedText(started: string, until: string, aimHours: string | undefined, isClosed: boolean): string {
  const hours = Number(((Date.parse(until) - Date.parse(started)) / HOUR_MS).toPrecision(3));
  const from = `${timeText(started)} – ${isClosed ? timeText(until) : 'open'}: ${hours} h`;
  if (aimHours === undefined) return `${from}; no aim is stated`;
  return `${from} of the ${aimHours} h that the cell aims at${hours > Number(aimHours) ? ', MISSED' : ''}`;
}

export const reconciledText = (found: number, expected: number): string =>
  `${found} of ${expected} found, ${Math.floor((100 * found) / expected)} %`;

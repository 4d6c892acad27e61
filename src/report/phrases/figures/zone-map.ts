import { CHART_WORDS } from './charts.js';
import { told } from './listed.js';

/** Words of the picture of zones over layers. */
export const ZONE_MAP = {
  title: (lot: string) => `Implants of lot ${lot} by zone and layer`,
  alt: (zones: readonly string[], findings: readonly string[]) =>
    `Zones of implants over their layers.${told('Zones', zones)}${findings.length === 0 ? ' No log finding acts on them.' : told('Log findings', findings)}`,
  zone: (serial: string, zone: string, from: number, to: number) => `${serial} ${zone} ${CHART_WORDS.layers(from, to)}`,
  finding: (serial: string, { zone, from, to, words }: { zone: string; from: number; to: number; words: string }) =>
    `${serial} ${zone} ${CHART_WORDS.layers(from, to)}: ${words}`,
  caption:
    'What the process logs say of each zone. The words behind a serial are the proposed outcome from everything, not from the log alone.',
  more: (shown: number, all: number) =>
    ` The ${shown} most severe of ${all} findings are drawn; the table has the others.`,
};

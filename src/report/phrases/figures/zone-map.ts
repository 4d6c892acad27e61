/** Words of the picture of zones over layers. */
export const ZONE_MAP = {
  title: (lot: string) => `Implants of lot ${lot} by zone and layer`,
  alt: (implants: number, findings: number) =>
    `Zones of ${implants} implant(s) over their layers, with ${findings} log finding(s) that act on them.`,
  caption:
    'What the process logs say of each zone. The words behind a serial are the proposed outcome from everything, not from the log alone.',
  more: (shown: number, all: number) =>
    ` The ${shown} most severe of ${all} findings are drawn; the table has the others.`,
};

/** Words of scanned shapes: the tables, and the pictures from three sides. */
export const SHAPE = {
  title: 'Shape against the design',
  caption: (serial: string, scan: string) => `${serial}, scan ${scan}: deviations from the design, outside positive`,
  zone: 'Zone',
  profile: 'Profile',
  profileOf: (outside: string, inside: string) => (outside === inside ? `± ${outside}` : `+ ${outside}, − ${inside}`),
  noProfile: 'none asked',
  points: 'Points',
  seen: 'Scanned',
  share: 'Outside',
  built: (zone: string) => `${zone}, built`,
  ofStock: (zone: string) => `${zone}, stock`,
  spread: '1 to 99 % of points',
  worst: 'Worst point',
  other: 'Worst by the other',
  laid: (isFit: boolean) => (isFit ? 'by least squares' : 'as given'),
  judged: (how: string) => `judged ${how}`,
  notJudged: 'NOT JUDGED, since it shows too little of the datums; shown as given',
  basis: (points: number, how: string, other: string | undefined, residual: string | undefined) =>
    `${points} points, ${how}${other === undefined ? '' : `; beside it ${other}`}${residual === undefined ? '' : `, which leaves ${residual} mm (root mean square)`}.`,
  datums: (zones: readonly string[]) => `Laid on the datums alone: ${zones.join(', ')}.`,
  motion: (rows: readonly string[]) => `Matrix of the fit, turn and shift in mm: ${rows.join('; ')}.`,
  apart: (stockPart: string) =>
    `Built on ${stockPart}: what lies on its surface is told apart from what was built, and judged by the design alone.`,
  coverage: (percent: string) => `Of each zone the specification asks for points on ${percent} % of its surface.`,
  coverageUnstated: (percent: string) =>
    `The specification does not say how much of a zone has to be scanned: less than ${percent} % of one is not judged as enough.`,
  unseen: (zone: string, percent: string, why: string, shownBy: string | undefined) =>
    `${percent} % of zone ${zone} was not seen: ${why}.${shownBy === undefined ? '' : ` What tells of it: ${shownBy}.`}`,
  unreached: (points: number) => `${points} points lie near no surface of the design and are in no share.`,
  findings: (found: readonly string[]) => `The model is no sound surface: ${found.join('; ')}.`,
  finding: (fault: string, times: number) => `${fault}, ${times} times`,
  notScanned: 'not scanned',
  notMeasured: (serial: string, scan: string) => `Scan ${scan} of ${serial} was not measured.`,
};

const SIDES = { x: 'along x', y: 'along y', z: 'along z' } as const;

export const SHAPE_FIGURE = {
  title: (serial: string, scan: string, judged: string) => `${serial}, scan ${scan}, ${judged}: from three sides`,
  side: (along: keyof typeof SIDES, square: number) => `${SIDES[along]}, squares of ${square} mm`,
  step: (from: string, to: string | undefined) => (to === undefined ? `beyond ${from}` : `${from} to ${to}`),
  scale: 'Distance from the design, mm:',
  outside: 'whole square: outside; lightest, either side',
  inside: 'bar in the middle of it: inside',
  nothing: 'empty: no point',
  place: (at: readonly string[]) => `x ${at[0]}, y ${at[1]}, z ${at[2]} mm`,
  worst: (deviation: string, isOutside: boolean, at: readonly string[], zone: string) =>
    `Worst point, in the ring: ${deviation} mm ${isOutside ? 'outside' : 'inside'} at x ${at[0]}, y ${at[1]}, z ${at[2]} mm${zone === '' ? '' : `, zone ${zone}`}.`,
  alt: (serial: string, scan: string, deviation: string, isOutside: boolean) =>
    `${serial} by scan ${scan} from three sides, by how far its surface lies from the design; the worst point lies ${deviation} mm ${isOutside ? 'outside' : 'inside'}.`,
  caption:
    'Each square shows the largest deviation of all points on its line through the part, near and far faces together: nothing is hidden behind another.',
};

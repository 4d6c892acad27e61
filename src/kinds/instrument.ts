import { z } from 'zod';
import { endsTooEarly } from './contradictions.js';
import { Code, FilePath, Format, Moment, PastMoment, Reason, Text } from './fields.js';
import { type Contradiction, defineKind } from './kind.js';

export const Calibration = z.strictObject({
  certificate: Text,
  at: PastMoment,
  due: Moment,
  asFound: z.enum(['in tolerance', 'out of tolerance', 'not recorded']),
  asLeft: z.enum(['in tolerance', 'out of tolerance']),
  traceableTo: Text,
  file: FilePath.optional().describe('the certificate; a digital one (DCC) has to say the same'),
});
export type Calibration = z.infer<typeof Calibration>;

export const Instrument = z.strictObject({
  kind: z.literal('instrument'),
  format: Format,
  instrument: Code,
  title: Text,
  measures: Text,
  serialNumber: Text.optional().describe(
    'of its maker: a digital calibration certificate knows it by this or by its code',
  ),
  calibrations: z.array(Calibration).default([]),
  reason: Reason,
});
export type Instrument = z.infer<typeof Instrument>;

const contradictions = ({ calibrations }: Instrument): Contradiction[] =>
  calibrations.flatMap(({ at, due }, index) => endsTooEarly(`calibrations[${index}].due`, due, at));

export const instrument = defineKind<Instrument>({
  kind: 'instrument',
  numbering: 'running',
  purpose: 'Measuring equipment and its calibrations: as found, as left, due, and to which standard it is traceable.',
  schema: Instrument,
  key: (document) => document.instrument,
  name: (document) => document.title,
  contradictions,
  files: (document) =>
    document.calibrations.flatMap((calibration, index) =>
      calibration.file
        ? [{ path: calibration.file, field: `calibrations[${index}].file`, name: 'certificate' as const }]
        : [],
    ),
});

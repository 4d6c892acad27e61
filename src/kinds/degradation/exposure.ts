import { z } from 'zod';
import {
  Code,
  Decimal,
  FilePath,
  Format,
  MethodRef,
  NotNegative,
  PastMoment,
  PositiveDecimal,
  Reason,
  Text,
  Ucum,
  whole,
} from '../fields.js';
import { PH } from './test-medium.js';

const Celsius = Decimal.refine((text) => Number(text) > -273.15, { error: 'a temperature above −273.15 °C' }).describe(
  'temperature, °C',
);

export const Exposure = z.strictObject({
  kind: z.literal('exposure'),
  format: Format,
  specimen: Code.describe('coupon, or serial of an implant that was given up for it'),
  specimenIs: z.enum(['coupon', 'implant']),
  piece: Code.optional().describe('piece of the specimen, where it was cut'),
  exposure: Code.describe('number of this exposure of the piece'),
  face: Code.describe('surface that met the medium, by the word that plans use: peened, machined, as-built'),
  zoneClass: Code.describe('class of the recipe zone that it speaks for'),
  medium: z.strictObject({ medium: Code, revision: whole(1) }),
  batch: Code.describe('batch of the medium: a consumable'),
  protocol: MethodRef.describe('method by which it was exposed and cleaned'),
  from: PastMoment,
  to: PastMoment.optional().describe('absent as long as it lies in the medium'),
  temperatureC: Celsius,
  pH: z
    .strictObject({ start: PH, most: PH.optional(), end: PH.optional() })
    .describe('at the start, at most, and at the end'),
  volumeMl: PositiveDecimal,
  areaCm2: PositiveDecimal.describe('area that met the medium, cm²'),
  changeH: PositiveDecimal.optional().describe('hours after which the medium was changed; never when absent'),
  flowMlPerMin: PositiveDecimal.optional().describe('flow past the specimen; at rest when absent'),
  gas: Text.optional().describe('gas above the medium, where it is another than that of the medium'),
  mask: Text.optional().describe('how faces were covered that were not to meet the medium'),
  sterilisedIn: Code.optional().describe('load in which it was sterilised before'),
  control: z
    .strictObject({ material: Text, value: NotNegative, ucum: Ucum, min: NotNegative, max: PositiveDecimal })
    .optional()
    .describe('rate of the control material beside it, and within which it has to lie'),
  massG: z
    .strictObject({
      before: PositiveDecimal,
      after: PositiveDecimal.optional().describe('dry, with what has grown on it'),
      afterCleaning: NotNegative.optional(),
      blankLoss: NotNegative.optional().describe('what cleaning takes from a specimen that was not exposed'),
    })
    .optional(),
  densityGPerCm3: PositiveDecimal.optional(),
  hydrogen: z
    .strictObject({
      volumeMl: NotNegative.describe('as read'),
      blankMl: NotNegative.optional().describe('read in the same time without a specimen'),
      gasC: Celsius,
      kPa: PositiveDecimal.describe('pressure of the gas'),
      gPerMol: PositiveDecimal.describe('grams of metal that go for one mole of hydrogen: 24.305 for magnesium'),
      water: z.enum(['wet', 'dry']).describe('wet: collected over water, and full of its vapour'),
    })
    .optional(),
  current: z
    .strictObject({ uAPerCm2: NotNegative, equivalentWeight: PositiveDecimal.describe('g/mol of electrons') })
    .optional()
    .describe('corrosion current density: tells a rate, and never decides alone'),
  volumeMm3: z
    .strictObject({ before: PositiveDecimal, after: NotNegative })
    .optional()
    .describe('volume of metal by tomography'),
  deepestUm: NotNegative.optional().describe('deepest attack, µm'),
  minimumSectionMm: NotNegative.optional().describe('smallest section that was measured, mm'),
  uncertainty: z
    .strictObject({
      massG: NotNegative.optional().describe('of one weighing'),
      areaCm2: NotNegative.optional(),
      timeH: NotNegative.optional(),
      densityGPerCm3: NotNegative.optional(),
      volumeMm3: NotNegative.optional().describe('of one volume by tomography'),
      volumeMl: NotNegative.optional().describe('of one reading of the gas'),
      gasC: NotNegative.optional().describe('of the temperature of the gas, °C'),
      kPa: NotNegative.optional().describe('of its pressure'),
    })
    .optional()
    .describe('standard uncertainties'),
  instruments: z.array(Code).min(1).describe('balance, gauge and whatever else a value rests on'),
  analyst: Code,
  enteredBy: Code.optional().describe('who typed the values, where it was somebody else'),
  checkedBy: Code.optional().describe('who compared the typed values with where they came from'),
  evidence: z
    .strictObject({ file: FilePath, line: whole(1).optional() })
    .optional()
    .describe('file in which the values stand, and the line'),
  reason: Reason,
});
export type Exposure = z.infer<typeof Exposure>;

import type { CheckPhrases, Phrase } from '../phrase.js';

const DECIDE = 'Process and quality engineer: decide whether what was measured still speaks for the implants.';

const WHAT: Readonly<Record<string, string>> = {
  medium: 'medium',
  method: 'protocol',
  face: 'face',
  sterilisation: 'sterilisation before',
  flow: 'flow',
  gas: 'gas above the medium',
  temperature: 'temperature',
  duration: 'duration',
};

const otherRate: Phrase = ({ characteristic, specimen, value, ucum, computed }) => ({
  says: `${characteristic} of ${specimen} is recorded as ${value} ${ucum}; what was weighed and measured gives ${computed} ${ucum}.`,
  clearedBy: 'Analyst: take the sheet of exposures in again, with the reason for what changed.',
});

export const exposuresStand: CheckPhrases = {
  title: 'Exposures stand, and together',
  asks: 'Did the control material of each bath lie in its range, do the values stand together, and are the rates as computed?',
  recompute: `Exposures: the pinned "exposure" documents, in their order. Their rows: the current rows of characteristics with
"source" exposure; the exposure of a row is the one with its specimen, its piece and, as "exposure", its replicate.
"control outside its range" (D) for each batch, value and material of a "control" whose value is below "min" or above "max"; implants:
those of every specimen of an exposure of that batch that lay in it, from "from" to "to", at a time when this one did (the last of
them, where several exposures state the same control). "not to stand together" for each characteristic and each of medium with
revision, method of the protocol with revision, face, whether there is a "sterilisedIn", "flowMlPerMin" (as number), "gas", "temperatureC" (any two more
than 2 apart), and hours from "from" to "to" (any two more than 2 % of the longer apart), in which the exposures of any two of its rows differ; implants: those of all its rows. For
each row "no exposure" [blocks release] without one that has ended and tells a rate, and "rate not as computed" [blocks release] when its
value is not 87600 W / (A T D), to six significant digits, converted from mm/a to twelve: T hours, A areaCm2, D densityGPerCm3, W
before - afterCleaning - blankLoss of massG in g (to twelve digits); without a mass after cleaning the tomography, V / (100 A) mm in
T hours of a year of 8760, V the lost volumeMm3; else hydrogen, W = gPerMol (kPa - water) (volumeMl - blankMl) / (1000 × 8.31446261815324 (gasC +
273.15)), water by IAPWS SR1-86 when wet and 0 when dry. "less medium than the method asks" (D) for each row whose exposure has
volumeMl / areaCm2 below "mediumMlPerCm2" of the row's method revision. "less told than the method asks" (D) for each method revision and each set of paths under its "exposureTells" at which an ended exposure whose
protocol it is has no value; implants: those of the specimens of all such. "far from the family" (D) for each row that is 300 times or more the "mean" of the
"pool" of its characteristic in family-history.json, or at most a 300th of it, where that is above 0. Does not apply without exposures and such rows.`,
  basis: ({ specimens, values }) => `exposures of ${specimens} specimens, ${values} rates computed again`,
  doesNotApply: 'no specimen was exposed to a test medium',
  rules: {
    'control outside its range': ({ batch, material, value, ucum, lower, upper, specimens }) => ({
      says: `The control of ${material} in batch ${batch} of the medium gave ${value} ${ucum}, outside ${lower} to ${upper}: what lay in its bath (${specimens}) cannot be decided.`,
      clearedBy: `Analyst: repeat the exposures in a new bath. ${DECIDE}`,
    }),
    'not to stand together': ({ characteristic, what, first, second, value, otherValue }) => ({
      says: `Values of ${characteristic} do not stand together: ${WHAT[what] ?? what} ${value} of ${first}, ${otherValue} of ${second}.`,
      clearedBy:
        'Quality engineer: name a characteristic of its own for each in the specification, or take the value out that does not belong.',
    }),
    'no exposure': ({ characteristic, specimen, value, ucum }) => ({
      says: `${characteristic} of ${specimen} is recorded as ${value} ${ucum}, and no exposure on record gives it.`,
      clearedBy: 'Analyst: take the sheet of exposures in that it was computed from.',
    }),
    'rate not as computed': otherRate,
    'far from the family': ({ characteristic, specimen, value, ucum, otherValue }) => ({
      says: `${characteristic} of ${specimen} is ${value} ${ucum}; the mean of earlier builds is ${otherValue}. Is one of them in another unit?`,
      clearedBy: `Analyst: compare masses, area and time with what was written, and take the sheet in again where they are wrong. ${DECIDE}`,
    }),
    'less told than the method asks': ({ method, missing, specimens }) => ({
      says: `${method} asks each exposure for ${missing}, which is not told of ${specimens}.`,
      clearedBy: `Analyst: take the sheet of exposures in again with what was measured, and the reason. ${DECIDE}`,
    }),
    'less medium than the method asks': ({ specimen, method, value, lower }) => ({
      says: `${specimen} lay in ${value} mL of medium for each cm²; ${method} asks for at least ${lower}.`,
      clearedBy: `Analyst: repeat the exposure. ${DECIDE}`,
    }),
  },
};

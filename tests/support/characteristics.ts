import { judgeValue } from '../../src/assessment/judge-value.js';
import type { Sample, SampleValue } from '../../src/assessment/plans/sample.js';
import type { SpecimenGap } from '../../src/assessment/reasons.js';
import { readReported } from '../../src/dossier/reported-value.js';
import type { Characteristic } from '../../src/kinds/specification.js';

/** A characteristic with simple acceptance, compared as reported. */
export const characteristic = (more: Partial<Characteristic>): Characteristic => ({
  characteristic: 'x',
  title: 'Invented',
  ucum: 'MPa',
  method: { method: 'TM', revision: 1 },
  measuredOn: 'coupon',
  replicates: 1,
  direction: 'nominal-is-best',
  decision: { rule: 'simple' },
  rounding: { rule: 'absolute' },
  due: 'before-release',
  plan: 'every-unit',
  ...more,
});

/** One value for each specimen; an empty text stands for a value that is missing. */
export function sampleOf(item: Characteristic, texts: readonly string[], uncertainty = '', units = 5): Sample {
  const values = texts.map(
    (text, index): SampleValue => ({
      specimen: `W${index}`,
      verdict: text === '' ? 'cannot be decided' : judgeValue(item, text, uncertainty).verdict,
      reported: text === '' ? undefined : readReported(text),
      standardUncertainty: uncertainty,
    }),
  );
  const gaps = values
    .filter(({ reported }) => !reported)
    .map(
      ({ specimen }): SpecimenGap => ({
        specimen,
        reasons: [{ code: 'incomplete', facts: { found: 0, missing: 1, rows: [], leftOut: [] } }],
      }),
    );
  return { item, units, values, gaps };
}

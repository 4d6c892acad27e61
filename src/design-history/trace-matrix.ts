import type { KindName } from '../kinds/catalogue.js';
import type { DesignRevision } from './design-facts.js';
import type { DesignIndex } from './design-index.js';
import { verifying } from './studies.js';

/** One way from a need to what shows that it is met; an empty place is where the way ends. */
export interface TraceRow {
  readonly need: string | null;
  readonly input: string | null;
  readonly output: string | null;
  /** Studies that verify this output; those of the input stand in the row of each of its outputs. */
  readonly verifiedBy: readonly string[];
  /** Studies that validate the need. */
  readonly validatedBy: readonly string[];
  readonly controls: readonly string[];
}

type Codes = readonly string[];
const codes = (found: Iterable<{ readonly key: string }>): Codes => [
  ...new Set([...found].map(({ key }) => key).sort()),
];

/**
 * From each need forward, then what no need leads to: inputs of their own, outputs that nothing asks for, and controls that
 * stand in no row yet. Every current entry of these kinds is in at least one row.
 */
export function traceMatrix(design: DesignIndex): TraceRow[] {
  const inputs = design.current('design-input');
  const rows = [
    ...design.current('user-need').flatMap((need) => {
      const own = design.naming('design-input', 'meets', need);
      const validatedBy = codes(design.naming('design-study', 'validates', need));
      const parts = own.length === 0 ? [{ ...END, ...restOf(design, []) }] : own.flatMap((one) => ofInput(design, one));
      return parts.map((part) => ({ ...part, need: need.key, validatedBy }));
    }),
    ...inputs.filter(({ body }) => body.meets === undefined).flatMap((input) => ofInput(design, input)),
    ...design
      .current('design-output')
      .filter(({ body }) => body.meets === undefined)
      .map((output) => ofOutput(design, output, [])),
  ];
  const told = new Set(rows.flatMap(({ controls }) => controls));
  const others = design.current('risk-control').filter(({ key }) => !told.has(key));
  return [
    ...rows,
    ...others.map(({ key, body }) => ({
      ...END,
      verifiedBy: [...new Set((body.verifiedBy ?? []).map(({ designStudy }) => designStudy))].sort(),
      controls: [key],
    })),
  ];
}

const END = { need: null, input: null, output: null, validatedBy: [] } as const;

function ofInput(design: DesignIndex, input: DesignRevision<'design-input'>): TraceRow[] {
  const outputs = design.naming('design-output', 'meets', input);
  const characteristics = input.body.characteristics ?? [];
  if (outputs.length === 0)
    return [{ ...END, input: input.key, ...restOf(design, verifying(design, input), characteristics) }];
  const direct = design.naming('design-study', 'verifies', input);
  return outputs.map((output) => ({ ...ofOutput(design, output, direct, characteristics), input: input.key }));
}

function ofOutput(
  design: DesignIndex,
  output: DesignRevision<'design-output'>,
  ofItsInput: readonly DesignRevision<'design-study'>[],
  characteristics: Codes = [],
): TraceRow {
  const studies = [...ofItsInput, ...design.naming('design-study', 'verifies', output)];
  return { ...END, output: output.key, ...restOf(design, studies, characteristics) };
}

/** Controls that the same studies verify, or that the same characteristic carries. */
function restOf(design: DesignIndex, studies: readonly DesignRevision<'design-study'>[], characteristics: Codes = []) {
  const controls = [
    ...studies.flatMap((study) => design.naming('risk-control', 'shown by', study)),
    ...design
      .current('risk-control')
      .filter(
        ({ body: { characteristic } }) => characteristic !== undefined && characteristics.includes(characteristic),
      ),
  ];
  return { verifiedBy: codes(studies), controls: codes(controls) };
}

/** A column of the matrix, and the kind whose codes stand in it. */
export const MATRIX_COLUMNS = [
  ['need', 'user-need'],
  ['input', 'design-input'],
  ['output', 'design-output'],
  ['verifiedBy', 'design-study'],
  ['validatedBy', 'design-study'],
  ['controls', 'risk-control'],
] as const satisfies (readonly [keyof TraceRow, KindName])[];

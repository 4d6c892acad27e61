import type { DesignIndex } from './design-index.js';
import { lotsOf } from './studies.js';

/** From one study back to what it shows, and on to the lots that it rests on. */
export interface BackRow {
  readonly study: string;
  readonly result: 'met' | 'not met' | 'open';
  readonly outputs: readonly string[];
  /** Those that it verifies itself, and those that its outputs answer. */
  readonly inputs: readonly string[];
  /** Those that it validates, and those that its inputs serve. */
  readonly needs: readonly string[];
  readonly controls: readonly string[];
  readonly lots: readonly string[];
}

const sorted = (codes: Iterable<string>): string[] => [...new Set(codes)].sort();

/** The trace matrix from its other end: each current study in one row. */
export function traceBack(design: DesignIndex): BackRow[] {
  const answered = new Map(design.current('design-output').map(({ key, body }) => [key, body.meets ?? []]));
  const served = new Map(design.current('design-input').map(({ key, body }) => [key, body.meets ?? []]));
  return design.current('design-study').map((study) => {
    const { verifies = [], validates = [], result } = study.body;
    const outputs = sorted(verifies.flatMap((item) => ('output' in item ? [item.output] : [])));
    const inputs = sorted([
      ...verifies.flatMap((item) => ('input' in item ? [item.input] : [])),
      ...outputs.flatMap((output) => (answered.get(output) ?? []).map(({ input }) => input)),
    ]);
    const needs = sorted([
      ...validates.map(({ need }) => need),
      ...inputs.flatMap((input) => (served.get(input) ?? []).map(({ need }) => need)),
    ]);
    return {
      ...{ study: study.key, result, outputs, inputs, needs },
      controls: sorted(design.naming('risk-control', 'shown by', study).map(({ key }) => key)),
      lots: lotsOf(design, study.body),
    };
  });
}

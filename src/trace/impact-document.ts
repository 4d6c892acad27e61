import { IMPACT_DRAFT } from '../report/phrases/impact.js';
import type { QuantityText } from './altered-facts.js';
import { type ImpactAnswer, isAffected } from './impact-answer.js';

/** The code that a draft proposes: `IM-BAL-2-2031-06-01`. */
export const impactCode = ({ cause, to }: Pick<ImpactAnswer, 'cause' | 'to'>): string =>
  `IM-${cause.key.replace(/[^A-Za-z0-9-]/g, '-')}-${to.slice(0, 10)}`;

/** An impact as a document of its kind, for people to complete, take in and sign: units that flip, or of which nobody can say, are put on hold by it. */
export function impactDocument(
  answer: ImpactAnswer,
  {
    code,
    bias,
    uncertainty,
  }: { code: string; bias?: QuantityText | undefined; uncertainty?: QuantityText | undefined },
): Record<string, unknown> {
  const { cause, from, to, head, lots, results, resultsSha256, units } = answer;
  const isOff = isAffected(answer);
  const touched = [...new Set([...units, ...lots].map(({ lot }) => lot))].sort();
  return {
    ...{ kind: 'impact', format: 1, impact: code, cause: { kind: cause.kind, key: cause.key }, from, to },
    ...(bias === undefined ? {} : { bias }),
    ...(uncertainty === undefined ? {} : { uncertainty }),
    head: { entries: head.size, root: head.root },
    results: { count: results.length, sha256: resultsSha256, ...(lots.length === 0 ? {} : { ofLots: lots }) },
    ...(touched.length === 0
      ? {}
      : {
          lots: touched,
          ...(units.length === 0
            ? {}
            : {
                decisions: units.map(({ serial }) => ({ implant: serial, as: isOff(serial) ? 'hold' : 'no effect' })),
              }),
        }),
    ...IMPACT_DRAFT,
  };
}

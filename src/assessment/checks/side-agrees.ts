import type { Case } from '../../kinds/case.js';
import type { CaseDesign } from '../../kinds/cases/case-design.js';
import { builtDesigns } from '../built-designs.js';
import { type Check, subject } from './check.js';

type Side = CaseDesign['side'];

/** Never conceded. No site and no side is told: the finding goes into copies for the institutions of other cases. */
export const sideAgrees: Check = {
  code: 'side-agrees',
  since: 1,
  clause: 'ISO 13485:2016 7.2.2, 7.5.8; 21 CFR 820.45',
  moment: 'build',
  looksAtCases: true,
  run(facts) {
    const compared = builtDesigns(facts).filter(({ design }) => design !== undefined);
    return {
      findings: compared.flatMap(({ code, iteration, serials, design, case: prescribed }) =>
        faults(prescribed, design!.body).map((rule) => ({
          rule,
          subjects: [subject('case', code), subject('case-design', code)],
          facts: { case: code, iteration: String(iteration) },
          effect: 'does not conform' as const,
          units: serials,
        })),
      ),
      basis: { designs: String(compared.length) },
      doesNotApply: compared.length === 0,
    };
  },
};

function faults(prescribed: Pick<Case, 'anatomicalSite' | 'side'>, design: CaseDesign): string[] {
  const marked = sidesMarked(design.marking);
  const isSided = design.side === 'left' || design.side === 'right';
  return [
    ...(prescribed.anatomicalSite === design.anatomicalSite ? [] : ['another site']),
    ...(prescribed.side === design.side ? [] : ['another side']),
    ...(marked.some((side) => side !== design.side) ? ['another side marked'] : []),
    ...(isSided && marked.length === 0 ? ['side not marked'] : []),
  ];
}

const LETTERS: Readonly<Record<string, Side>> = { l: 'left', left: 'left', r: 'right', right: 'right' };

/** Sides that a marking names as words of their own: `K-101-1 L`, `K-101-1/right`. */
const sidesMarked = (marking: string): Side[] =>
  marking
    .toLowerCase()
    .split(/[^a-z0-9-]+/)
    .flatMap((word) => LETTERS[word] ?? []);

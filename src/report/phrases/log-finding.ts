import type { LayerRange } from '../../assessment/coverage.js';
import type { LogFinding } from '../../dossier/schema.js';
import { findingText, layersText, whereText } from './log-finding-text.js';
import { listOf, type Told, type Words } from './phrase.js';

/** `Log finding 1f0c… of M1-101`; of a group how many it stands for. */
function nameText({ finding, build, members }: Told): string {
  const short = finding.slice(0, 12);
  return members === undefined
    ? `Log finding ${short} of ${build}`
    : `Log findings ${short} of ${build}, ${members} alike`;
}

/** Which coupons do not speak for what was affected: one sentence for each, with a blank before it. */
const couponText = ({ coupons }: Told): string =>
  listOf<{ coupon: string; implant: string; layers: LayerRange[] }>(coupons)
    .map(
      ({ coupon, implant, layers }) => ` Coupon ${coupon} does not represent ${implant} there: ${layersText(layers)}.`,
    )
    .join('');

function clearedBy({ decision, stillToSign, level }: Told): string {
  if (decision === 'rejected') return 'Nobody: the finding was decided as rejected.';
  if (decision === 'half') {
    const role = stillToSign === 'process engineer' ? 'Process engineer' : 'Quality engineer';
    return `${role}: decide the finding too, with a rationale.`;
  }
  return level === 'reject'
    ? 'Nobody: a reject finding fails the units it covers. Releaser or quality engineer: reject them.'
    : 'Process and quality engineer: decide the finding with a rationale.';
}

/** A finding of the log scanner that acts on units; its rule is the scanner's. */
export function logFindingWords(facts: Told, rule: string): Words {
  const found: Pick<LogFinding, 'rule' | 'level' | 'channel' | 'ucum' | 'facts' | 'places' | 'steps'> = JSON.parse(
    facts.logFinding,
  );
  return {
    says: `${nameText(facts)}: ${findingText({ ...found, rule })}; ${whereText(found)}.${couponText(facts)}`,
    clearedBy: clearedBy(facts),
  };
}

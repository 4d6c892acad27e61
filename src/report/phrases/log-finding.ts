import { z } from 'zod';
import type { LayerRange } from '../../assessment/coverage.js';
import { LogFinding } from '../../dossier/schema.js';
import { ifTold, LAYERS, readFact, type Told, type Words } from './phrase.js';

/** So many stretches of layers, and so many zones, are told one by one. */
const MOST_TOLD = 4;

/** Where a finding lies, in words: `zone P2-bridge, layers 21 to 24, during peen`. */
export function whereText(finding: Pick<LogFinding, 'places' | 'steps'>): string {
  const zones = new Map<string | null, LogFinding['places']>();
  for (const place of finding.places) zones.set(place.zone, [...(zones.get(place.zone) ?? []), place]);
  const places = [...zones].map(([zone, own]) => {
    const name = zone === null ? 'every zone' : `zone ${zone}`;
    const ranges = own.flatMap(({ layerFrom, layerTo }) =>
      layerFrom === null || layerTo === null ? [] : [{ from: layerFrom, to: layerTo }],
    );
    return ranges.length < own.length ? name : `${name}, ${layersText(ranges)}`;
  });
  const told = places.slice(0, MOST_TOLD);
  if (places.length > told.length) told.push(`${places.length - told.length} more zones`);
  const steps = finding.steps.filter((step) => step !== '');
  return [told.join('; ') || 'the whole build', steps.length > 0 ? `during ${steps.join(', ')}` : '']
    .filter(Boolean)
    .join(', ');
}

/** `layers 3 to 4 and 8`; `layer 8`; of many stretches `40 layers from 3 to 98`. */
export function layersText(ranges: readonly LayerRange[]): string {
  if (ranges.length > MOST_TOLD) {
    const layers = ranges.reduce((sum, { from, to }) => sum + to - from + 1, 0);
    return `${layers} layers from ${ranges[0]!.from} to ${ranges.at(-1)!.to}`;
  }
  const isOne = ranges.length === 1 && ranges[0]!.from === ranges[0]!.to;
  const parts = ranges.map(({ from, to }) => (from === to ? String(from) : `${from} to ${to}`));
  return `${isOne ? 'layer' : 'layers'} ${parts.join(' and ')}`;
}

/** What a finding says, in words, from its facts. */
export function findingText(finding: Pick<LogFinding, 'rule' | 'level' | 'channel' | 'ucum' | 'facts'>): string {
  const { rule, channel, facts, ucum } = finding;
  if (rule === 'set value not as in the recipe') {
    return `set value of ${channel} is ${facts.worst} ${ucum} and not ${facts.limit} ${ucum} as in the recipe`;
  }
  const what = facts.what === undefined ? '' : `: ${facts.what}`;
  const worst = facts.worst === undefined || facts.worst === null ? '' : ` to ${facts.worst} ${ucum ?? ''}`.trimEnd();
  const limit = facts.limit === undefined || facts.limit === null ? '' : ` (${finding.level} level ${facts.limit})`;
  const times = typeof facts.occurrences === 'number' ? `, ${facts.occurrences} times` : '';
  const duration = typeof facts.durationMs === 'number' ? `, for ${secondsText(facts.durationMs)}` : '';
  const longest =
    typeof facts.longestMs === 'number' ? ` in all, at most ${secondsText(facts.longestMs)} at a time` : '';
  return `${rule}${channel ? ` of ${channel}` : ''}${what}${worst}${limit}${times}${duration}${longest}`;
}

const secondsText = (ms: number): string => `${Number((ms / 1000).toPrecision(6))} s`;

/** `Log finding 1f0c… of M1-101`; of a group how many it stands for. */
function nameText(facts: Told): string {
  const { finding, build } = facts;
  const members = ifTold(facts, 'members');
  const short = finding.slice(0, 12);
  return members === undefined
    ? `Log finding ${short} of ${build}`
    : `Log findings ${short} of ${build}, ${members} alike`;
}

const COUPONS = z.array(z.strictObject({ coupon: z.string(), implant: z.string(), layers: LAYERS }));

/** Which coupons do not speak for what was affected: one sentence for each, with a blank before it. */
const couponText = ({ coupons }: Told): string =>
  readFact(COUPONS, coupons)
    .map(
      ({ coupon, implant, layers }) => ` Coupon ${coupon} does not represent ${implant} there: ${layersText(layers)}.`,
    )
    .join('');

function clearedBy(facts: Told): string {
  const decision = ifTold(facts, 'decision');
  if (decision === 'rejected') return 'Nobody: the finding was decided as rejected.';
  if (decision === 'half') {
    const role = facts.stillToSign === 'process engineer' ? 'Process engineer' : 'Quality engineer';
    return `${role}: decide the finding too, with a rationale.`;
  }
  return facts.level === 'reject'
    ? 'Nobody: a reject finding fails the units it covers. Releaser or quality engineer: reject them.'
    : 'Process and quality engineer: decide the finding with a rationale.';
}

const TOLD_OF_IT = LogFinding.pick({
  rule: true,
  level: true,
  channel: true,
  ucum: true,
  facts: true,
  places: true,
  steps: true,
});

/** A finding of the log scanner that acts on units; its rule is the scanner's. */
export function logFindingWords(facts: Told, rule: string): Words {
  const found = readFact(TOLD_OF_IT, facts.logFinding);
  return {
    says: `${nameText(facts)}: ${findingText({ ...found, rule })}; ${whereText(found)}.${couponText(facts)}`,
    clearedBy: clearedBy(facts),
  };
}

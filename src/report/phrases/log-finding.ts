import { z } from 'zod';
import type { LayerRange } from '../../assessment/coverage.js';
import type { DewPointTrouble, FindingDetail, JoinedCause, SaidPlace } from '../../dossier/finding-detail.js';
import { LogFinding } from '../../dossier/schema.js';
import { spacedUnit } from '../../dossier/unit-text.js';
import type { FindingRule } from '../../process-logs/findings.js';
import { quote } from '../../process-logs/rejection.js';
import { levelText } from './codes.js';
import { ifTold, LAYERS, readFact, type Told, type Words } from './phrase.js';
import { REJECTION_REASONS } from './rejected-rows.js';
import { stepText } from './trade-codes.js';

/** So many stretches of layers, and so many zones, are told one by one. */
const MOST_TOLD = 4;

/** Where a finding lies, in words: `zone P2-bridge, layers 21 to 24, during peening`. */
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
  return [told.join('; ') || 'the whole build', steps.length > 0 ? `during ${steps.map(stepText).join(', ')}` : '']
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

/** What the log scanner can find. */
export const LOG_RULES: Readonly<Record<FindingRule, string>> = {
  excursion: 'excursion',
  'set value not as in the recipe': 'set value not as in the recipe',
  'break of inert atmosphere': 'break of inert atmosphere',
  'missing values': 'missing values',
  'dew point not converted': 'dew point not converted',
  gap: 'gap',
  'duplicate time': 'duplicate time',
  'files overlap': 'files overlap',
  'files disagree': 'files disagree',
  'observations lost': 'observations lost',
  'stream names two versions': 'stream names two versions',
  'machine condition': 'machine condition',
  'time going back': 'time going back',
  'rows rejected': 'rows rejected',
  'log starts late': 'log starts late',
  'log ends early': 'log ends early',
  'logged with open chamber': 'logged with open chamber',
  'channel not logged': 'channel not logged',
  'zone never logged': 'zone never logged',
  'step never logged': 'step never logged',
  'layers never logged': 'layers never logged',
  'step repeated early': 'step repeated early',
  'step out of order': 'step out of order',
  'step too short': 'step too short',
  'step too long': 'step too long',
  'unknown zone': 'unknown zone',
  'unknown step': 'unknown step',
  'layers outside the zone': 'layers outside the zone',
};

export const DEW_POINT_TROUBLES: Readonly<Record<DewPointTrouble, string>> = {
  'no pressure': 'no pressure',
  'pressure not above that of the vapour': 'pressure not above that of the vapour',
  'outside the formula': 'outside the formula',
};

/** Two files of one build that differ; `first` and `second` are what they say. */
export const DISAGREEMENT = {
  says: (file: string, said: string) => `${file} says ${said}`,
  both: (first: string, second: string) => `${first}, ${second}; the first counts`,
  zone: (zone: string | null) => (zone === null ? 'no zone' : quote(zone)),
  layer: (layer: number | null) => (layer === null ? 'no layer' : `layer ${layer}`),
};

const saidText = ({ zone, layer, step }: SaidPlace): string =>
  [DISAGREEMENT.zone(zone), DISAGREEMENT.layer(layer), quote(step)].join(', ');

const disagreementText = (first: string, firstSays: string, second: string, secondSays: string): string =>
  DISAGREEMENT.both(DISAGREEMENT.says(first, firstSays), DISAGREEMENT.says(second, secondSays));

/** A condition in the words of the machine; so many characters are told. */
const LONGEST_CONDITION = 200;

/** What exactly a finding is about, in words. */
export function detailText(what: FindingDetail): string {
  switch (what.code) {
    case 'channel':
      return what.channel;
    case 'zone':
      return what.zone;
    case 'no zone named':
      return `none named for ${stepText(what.step)}`;
    case 'step':
      return `${stepText(what.step)} in ${what.zone}`;
    case 'no step named':
      return `none named in ${what.zone}`;
    case 'too soon':
      return `${what.times} × sooner than every ${what.everyLayers} layers`;
    case 'too short':
      return `${what.lastedS} s instead of at least ${what.limitS} s`;
    case 'too long':
      return `${what.lastedS} s instead of at most ${what.limitS} s`;
    case 'order':
      return `${stepText(what.step)} after ${stepText(what.after)} at ${what.layer === 'same' ? 'the same' : 'a later'} layer`;
    case 'rejected':
      return REJECTION_REASONS[what.reason];
    case 'dew point':
      return DEW_POINT_TROUBLES[what.trouble];
    case 'files':
      return `${what.first} and ${what.second}`;
    case 'values': {
      const { first, second, firstValue, secondValue, ucum } = what;
      return disagreementText(first, `${firstValue}${spacedUnit(ucum)}`, second, `${secondValue}${spacedUnit(ucum)}`);
    }
    case 'places':
      return disagreementText(what.first, saidText(what.firstPlace), what.second, saidText(what.secondPlace));
    case 'sequence numbers':
      return what.from === what.to ? `sequence number ${what.from}` : `sequence numbers ${what.from} to ${what.to}`;
    case 'agent restarted':
      return `the agent was restarted: instance ${what.instance}`;
    case 'version':
      return `version ${what.said} in its header; read by version ${what.readBy}, as its namespace says`;
    case 'condition': {
      const said = [what.state, what.type, what.nativeCode, what.message].filter((text) => text !== '').join(' ');
      return `${what.dataItem}: ${said.slice(0, LONGEST_CONDITION)}`;
    }
  }
}

/** A rule of a later scanner is shown as it is. */
const ruleText = (rule: string): string => (Object.hasOwn(LOG_RULES, rule) ? LOG_RULES[rule as FindingRule] : rule);

/** What a finding says, in words, from its facts. */
export function findingText(finding: Pick<LogFinding, 'rule' | 'level' | 'channel' | 'ucum' | 'facts'>): string {
  const { rule, channel, facts, ucum } = finding;
  if (rule === 'set value not as in the recipe') {
    return `set value of ${channel} is ${facts.worst}${spacedUnit(ucum ?? '')} and not ${facts.limit}${spacedUnit(ucum ?? '')} as in the recipe`;
  }
  const what = facts.what === undefined ? '' : `: ${detailText(facts.what)}`;
  const worst = facts.worst === undefined ? '' : ` to ${facts.worst}${spacedUnit(ucum ?? '')}`.trimEnd();
  const limit = facts.limit === undefined ? '' : ` (${levelText(finding.level)} level ${facts.limit})`;
  const times = facts.occurrences === undefined ? '' : `, ${facts.occurrences} times`;
  const duration = facts.durationMs === undefined ? '' : `, for ${secondsText(facts.durationMs)}`;
  const longest = facts.longestMs === undefined ? '' : ` in all, at most ${secondsText(facts.longestMs)} at a time`;
  const joined = facts.joins === undefined ? '' : `; ${joinedText(facts.joins, facts.mostSevere)}`;
  return `${causeText(finding)}${what}${worst}${limit}${times}${duration}${longest}${joined}`;
}

const causeText = ({ rule, channel }: JoinedCause): string => `${ruleText(rule)}${channel ? ` of ${channel}` : ''}`;

/** What a break of the inert atmosphere joins: `joins excursion of oxygen and gap, at most of level action`. */
function joinedText(joins: readonly JoinedCause[], mostSevere: LogFinding['level'] | undefined): string {
  const level = mostSevere === undefined ? '' : `, at most of level ${levelText(mostSevere)}`;
  return `joins ${joins.map(causeText).join(' and ')}${level}`;
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

import { canonicalJson } from '../../dossier/canonical.js';
import { type Facts, revisionKey } from '../../dossier/facts.js';
import type { Method } from '../../kinds/method.js';
import { currentResults, type NumberedResult, unitsOfSpecimen } from '../specimens.js';
import { type Check, isAfter, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

type Duration = NonNullable<Method['duration']>;

const HOUR_MS = 3_600_000;

const hoursBetween = (from: string, to: string): number =>
  Number(((Date.parse(to) - Date.parse(from)) / HOUR_MS).toPrecision(9));

/** The last that happened to a specimen before it was measured: no test on it can have begun earlier. */
function freeSince(facts: Facts, { specimen, measuredAt }: NumberedResult): string | undefined {
  const { builds, steps, implants, coupons } = facts.lot.body;
  const part = implants.find(({ serial }) => serial === specimen) ?? coupons.find(({ coupon }) => coupon === specimen);
  const opened = builds.find(({ build }) => build === part?.build)?.openedAt;
  const through = steps.filter(({ parts }) => parts === undefined || parts.includes(specimen)).map(({ at }) => at);
  return [...(opened === undefined ? [] : [opened]), ...through]
    .filter((at) => !isAfter(at, measuredAt))
    .sort((a, b) => Date.parse(b) - Date.parse(a))[0];
}

/** What is wrong with how long a test lasted, in hours; undefined when nothing is. */
function troubleWith(facts: Facts, row: NumberedResult, { hours, within }: Duration): Trouble | undefined {
  const least = Number(hours) - Number(within ?? 0);
  const most = within === undefined ? Number.POSITIVE_INFINITY : Number(hours) + Number(within);
  if (row.startedAt === '') {
    const from = freeSince(facts, row);
    const longest = from === undefined ? Number.POSITIVE_INFINITY : hoursBetween(from, row.measuredAt);
    if (longest >= least) return { rule: 'start not recorded', facts: {} };
    return { rule: 'cannot have lasted as long', facts: { from: from!, lasted: String(longest) } };
  }
  const lasted = hoursBetween(row.startedAt, row.measuredAt);
  if (lasted >= least && lasted <= most) return undefined;
  return {
    rule: lasted < least ? 'shorter than the method says' : 'longer than the method says',
    facts: { startedAt: row.startedAt, lasted: String(lasted) },
  };
}

type Trouble = Pick<FindingDraft, 'rule' | 'facts'>;

export const testsLongEnough: Check = {
  code: 'tests-long-enough',
  since: 1,
  clause: 'ISO 13485:2016 8.2.6; ASTM G31, duration of the test',
  moment: 'release',
  run(facts) {
    const found = new Map<string, FindingDraft & { units: string[] }>();
    const methods = new Map<string, Duration>();
    for (const row of currentResults(facts)) {
      const method = revisionKey(row.method, Number(row.methodRevision));
      const duration = facts.methods.get(method)?.body.duration;
      if (duration === undefined) continue;
      methods.set(method, duration);
      const trouble = troubleWith(facts, row, duration);
      if (trouble === undefined) continue;
      const { specimen, characteristic, measuredAt } = row;
      const about = { specimen, characteristic, method, measuredAt, hours: duration.hours };
      const draft = {
        rule: trouble.rule,
        subjects: [subject('specimen', specimen), subject('method', row.method)],
        facts: { ...about, ...(duration.within === undefined ? {} : { within: duration.within }), ...trouble.facts },
      };
      // Replicates that lay in one bath are one finding.
      found.set(canonicalJson(draft), {
        ...draft,
        effect: 'cannot be decided',
        mayBeDecided: 'decision',
        units: unitsOfSpecimen(facts, specimen),
      });
    }
    return {
      findings: [...found.values()],
      basis: {
        methods: canonicalJson([...methods].map(([method, { hours, within }]) => [method, hours, within ?? ''])),
      },
      doesNotApply: methods.size === 0,
    };
  },
};

import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import type { Characteristic } from '../../kinds/specification.js';
import { missingText } from '../../report/phrases/values.js';
import { sparesLeft } from '../acceptance-set.js';
import type { CharacteristicVerdict, ValueVerdict } from '../assessment.js';
import { missingValues } from '../missing-values.js';
import { indexResults, type ResultIndex } from '../specimens.js';
import { type Check, type FindingDraft, subject } from './check.js';

type Missing = FindingDraft & { units: string[] };

/**
 * Whether every planned value is in the acceptance set.
 * @param verdicts of every implant in every characteristic, as `acceptAll` gives them.
 */
export const resultsComplete = (verdicts: readonly CharacteristicVerdict[]): Check => ({
  code: 'results-complete',
  title: 'Every planned characteristic has its results',
  clause: 'ISO 13485:2016 8.2.6',
  moment: 'release',
  asks: 'Does each implant have every planned value, from a specimen of its own build?',
  run(facts) {
    const { implants } = facts.lot.body;
    const { characteristics } = facts.specification.body;
    const index = indexResults(facts);
    const found = new Map<string, Missing>();
    for (const verdict of verdicts.filter(({ openUntil }) => openUntil === null)) {
      const item = characteristics.find(({ characteristic }) => characteristic === verdict.characteristic)!;
      for (const draft of missingOf(facts, item, verdict, index)) {
        const id = `${item.characteristic} ${draft.subjects[0]!.key}`;
        const known = found.get(id);
        if (known) known.units.push(...draft.units);
        else found.set(id, { ...draft, units: [...draft.units] });
      }
    }
    const planned = verdicts.reduce((sum, { values }) => sum + values.length, 0);
    const open = verdicts.filter(({ openUntil }) => openUntil !== null);
    return {
      findings: [...found.values()],
      basis: [
        `${planned} values over ${implants.length} implants and ${characteristics.length} characteristics`,
        ...[...new Set(open.map((verdict) => openText(characteristics, verdict)))],
      ].join('; '),
    };
  },
});

const openText = (items: readonly Characteristic[], { characteristic, openUntil }: CharacteristicVerdict): string =>
  `${items.find((item) => item.characteristic === characteristic)!.title} open until ${timeText(openUntil!)}`;

function missingOf(
  facts: Facts,
  item: Characteristic,
  verdict: CharacteristicVerdict,
  index: ResultIndex,
): FindingDraft[] {
  const serial = verdict.unit;
  const implant = facts.lot.body.implants.find((part) => part.serial === serial)!;
  const common = { effect: 'cannot be decided' as const, mayBeDecided: 'concession' as const, units: [serial] };
  if (verdict.values.length === 0) {
    return [
      {
        ...common,
        rule: 'no specimen',
        subjects: [subject('implant', serial)],
        facts: { characteristic: item.characteristic, zoneClass: item.zoneClass ?? 'any' },
        says: `No ${item.measuredOn} of build ${implant.build} speaks for ${serial} in ${item.title}.`,
        clearedBy: 'Process engineer: name the coupon in lot.yaml, with the study by which it may stand.',
      },
    ];
  }
  const missing = verdict.values.filter((value) => value.row === null);
  return [...new Set(missing.map(({ specimen }) => specimen))].map((specimen) => {
    const own = verdict.values.filter((value) => value.specimen === specimen);
    const there = own.filter((value) => value.row !== null && value.role !== 'invalid test').length;
    const short = missing.filter((value) => value.specimen === specimen).length;
    return {
      ...common,
      rule: 'result missing',
      subjects: [subject(item.measuredOn, specimen)],
      facts: { characteristic: item.characteristic, planned: String(there + short), found: String(there) },
      says: `${item.title} of ${specimen}: ${missingText(item, missingValues(own))}.${sparesText(own, sparesLeft(facts, implant, item, index))}`,
      clearedBy: clearedBy(item, specimen, own),
    };
  });
}

/** After an invalid test of a specimen that was used up, only a spare coupon can give the value. */
function sparesText(own: readonly ValueVerdict[], spares: readonly string[]): string {
  if (!own.some((value) => value.role === 'invalid test')) return '';
  return spares.length > 0 ? ` Spare coupons left: ${spares.join(', ')}.` : ' No spare coupon is left.';
}

const clearedBy = (item: Characteristic, specimen: string, own: readonly ValueVerdict[]): string =>
  own.some((value) => value.role === 'invalid test')
    ? `Analyst: repeat the test on ${specimen}, or on a spare coupon where the retest rule allows it.`
    : `Analyst: take in the missing values of ${specimen}, measured by ${item.method.method}.`;

import { canonicalJson } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import type { Characteristic } from '../../kinds/specification.js';
import { sparesLeft } from '../acceptance-set.js';
import { type CharacteristicVerdict, counts } from '../assessment.js';
import { missingValues } from '../missing-values.js';
import { indexResults, type ResultIndex } from '../specimens.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

type Missing = FindingDraft & { units: string[] };

/**
 * Whether every planned value is in the acceptance set.
 * @param verdicts of every implant in every characteristic, as `acceptAll` gives them.
 */
export const resultsComplete = (verdicts: readonly CharacteristicVerdict[]): Check => ({
  code: 'results-complete',
  since: 1,
  clause: 'ISO 13485:2016 8.2.6',
  moment: 'release',
  run(facts) {
    const { implants } = facts.lot.body;
    const { characteristics } = facts.specification.body;
    const index = indexResults(facts);
    const found = new Map<string, Missing>();
    for (const verdict of verdicts.filter(({ openUntil }) => openUntil === null)) {
      const item = characteristics.find(({ characteristic }) => characteristic === verdict.characteristic)!;
      for (const draft of missingIn(facts, item, verdict, index)) {
        const id = `${item.characteristic} ${draft.subjects[0]!.key}`;
        const known = found.get(id);
        if (known) known.units.push(...draft.units);
        else found.set(id, { ...draft, units: [...draft.units] });
      }
    }
    const planned = verdicts.reduce((sum, { values }) => sum + values.length, 0);
    const late = new Map<string, [string, string]>();
    for (const { characteristic, openUntil } of verdicts) {
      if (openUntil === null) continue;
      const { title } = characteristics.find((item) => item.characteristic === characteristic)!;
      late.set(`${openUntil} ${characteristic}`, [title, openUntil]);
    }
    return {
      findings: [...found.values()],
      basis: {
        planned: String(planned),
        implants: String(implants.length),
        characteristics: String(characteristics.length),
        late: canonicalJson([...late.values()]),
      },
    };
  },
});

function missingIn(
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
        facts: {
          characteristic: item.characteristic,
          title: item.title,
          measuredOn: item.measuredOn,
          build: implant.build,
          implant: serial,
          zoneClass: item.zoneClass ?? 'any',
        },
      },
    ];
  }
  if (verdict.values.every((value) => !counts(value))) {
    const aside = [...new Set(verdict.values.map(({ specimen }) => specimen))];
    return [
      {
        ...common,
        rule: 'nothing since the rework',
        subjects: [subject('implant', serial)],
        facts: {
          characteristic: item.characteristic,
          title: item.title,
          implant: serial,
          specimens: aside.join(', '),
        },
      },
    ];
  }
  const missing = verdict.values.filter((value) => value.row === null);
  return [...new Set(missing.map(({ specimen }) => specimen))].map((specimen) => {
    const own = verdict.values.filter((value) => value.specimen === specimen);
    return {
      ...common,
      rule: 'result missing',
      subjects: [subject(item.measuredOn, specimen)],
      facts: {
        characteristic: item.characteristic,
        title: item.title,
        specimen,
        asked: canonicalJson(item),
        missing: canonicalJson(missingValues(own)),
        invalidTests: String(own.filter(({ role }) => role === 'invalid test').length),
        spares: sparesLeft(facts, implant, item, index).join(', '),
      },
    };
  });
}

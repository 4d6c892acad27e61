import { convert } from '../../base/units.js';
import { countingRate, decimalRate, RATE_UNIT } from '../../degradation/exposure-rates.js';
import { type Facts, revisionKey } from '../../dossier/facts.js';
import type { Exposure } from '../../kinds/degradation/exposure.js';
import { apart, type ExposedRow, exposedRows, exposuresOf, isControlled, shareBath } from '../exposures.js';
import { unitsOfSpecimen } from '../specimens.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** A control outside its range makes all that lay in its bath undecided. Rows that tell of one control are one finding. */
function controlFindings(facts: Facts, exposures: readonly Exposure[]): FindingDraft[] {
  const off = new Map(
    exposures
      .filter((one) => isControlled(one) === false)
      .map((one) => [[one.batch, one.control!.value, one.control!.material].join(' '), one]),
  );
  return [...off.values()].map((one) => {
    const { material, value, ucum, min, max } = one.control!;
    const bath = [...new Set(exposures.filter((other) => shareBath(one, other)).map(({ specimen }) => specimen))];
    return {
      rule: 'control outside its range',
      subjects: [subject('consumable', one.batch)],
      facts: { batch: one.batch, material, value, ucum, lower: min, upper: max, specimens: bath.join(', ') },
      effect: 'cannot be decided',
      mayBeDecided: 'decision',
      units: bath.flatMap((specimen) => unitsOfSpecimen(facts, specimen)),
    };
  });
}

/** Values of one characteristic are pooled: two that differ are named for each thing in which any differ. */
function poolFindings(facts: Facts, rows: readonly ExposedRow[]): FindingDraft[] {
  const items = [...new Set(rows.map(({ item }) => item))];
  return items.flatMap(({ characteristic }) => {
    const own = rows.flatMap(({ row, exposure }) =>
      row.characteristic === characteristic && exposure !== undefined ? [exposure] : [],
    );
    return apart(own, false).map(({ what, a, b, first, second }) => ({
      rule: 'not to stand together',
      subjects: [...new Set([first.specimen, second.specimen])].map((specimen) => subject('specimen', specimen)),
      facts: { characteristic, what, first: first.specimen, second: second.specimen, value: a, otherValue: b },
      effect: 'cannot be decided',
      units: [...new Set(own.flatMap(({ specimen }) => unitsOfSpecimen(facts, specimen)))],
    }));
  });
}

/** A rate is computed again from what was weighed: a row that says otherwise is none of the exposure. */
function rateFindings(facts: Facts, rows: readonly ExposedRow[]): FindingDraft[] {
  return rows.flatMap(({ row, exposure }) => {
    const rate = exposure && countingRate(exposure);
    const computed = rate ? convert(decimalRate(rate.mmPerYear), RATE_UNIT, row.ucum) : '';
    if (computed === row.value) return [];
    const { specimen, characteristic, value, ucum } = row;
    return [
      {
        rule: computed === '' ? 'no exposure' : 'rate not as computed',
        subjects: [subject('result', String(row.row)), subject('specimen', specimen)],
        facts: { specimen, characteristic, value, ucum, row: String(row.row), computed },
        effect: 'blocks release' as const,
        units: unitsOfSpecimen(facts, specimen),
      },
    ];
  });
}

/** A rate so far from those of earlier builds is most often one in another unit: it is asked, and nothing is assumed. */
const FAR = 300;

function farFindings(facts: Facts, rows: readonly ExposedRow[]): FindingDraft[] {
  return rows.flatMap(({ row: { row, specimen, characteristic, value, ucum } }) => {
    const known = facts.history?.characteristics.find((one) => one.characteristic === characteristic);
    const mean = known?.pool.mean ?? 0;
    const times = Number(value) / mean;
    if (!(mean > 0) || (times < FAR && times > 1 / FAR)) return [];
    return [
      {
        rule: 'far from the family',
        subjects: [subject('result', String(row)), subject('specimen', specimen)],
        facts: { specimen, characteristic, value, ucum, otherValue: String(Number(mean.toPrecision(3))) },
        effect: 'cannot be decided' as const,
        mayBeDecided: 'decision' as const,
        units: unitsOfSpecimen(facts, specimen),
      },
    ];
  });
}

function mediumFindings(facts: Facts, rows: readonly ExposedRow[]): FindingDraft[] {
  return rows.flatMap(({ row, exposure }) => {
    if (exposure === undefined) return [];
    const method = revisionKey(row.method, Number(row.methodRevision));
    const least = facts.methods.get(method)?.body.mediumMlPerCm2;
    const share = Number(exposure.volumeMl) / Number(exposure.areaCm2);
    if (least === undefined || share >= Number(least)) return [];
    const { specimen, characteristic } = row;
    return [
      {
        rule: 'less medium than the method asks',
        subjects: [subject('specimen', specimen), subject('method', row.method)],
        facts: { specimen, characteristic, method, value: share.toPrecision(3), lower: least },
        effect: 'cannot be decided' as const,
        mayBeDecided: 'decision' as const,
        units: unitsOfSpecimen(facts, specimen),
      },
    ];
  });
}

/** What a method needs of each exposure by it and some do not tell: specimens that lack the same are one finding. */
function untoldFindings(facts: Facts, exposures: readonly Exposure[]): FindingDraft[] {
  const found = new Map<
    string,
    { readonly method: string; readonly missing: string; readonly specimens: Set<string> }
  >();
  for (const one of exposures) {
    if (one.to === undefined) continue;
    const method = revisionKey(one.protocol.method, one.protocol.revision);
    const asked = facts.methods.get(method)?.body.exposureTells ?? [];
    const missing = asked.filter((path) => !isTold(one, path)).join(', ');
    if (missing === '') continue;
    const key = `${method}\n${missing}`;
    const known = found.get(key) ?? { method, missing, specimens: new Set<string>() };
    found.set(key, known);
    known.specimens.add(one.specimen);
  }
  return [...found.values()].map(({ method, missing, specimens }) => ({
    rule: 'less told than the method asks',
    subjects: [subject('method', method.split(' ')[0]!)],
    facts: { method, missing, specimens: [...specimens].join(', ') },
    effect: 'cannot be decided',
    mayBeDecided: 'decision',
    units: [...specimens].flatMap((specimen) => unitsOfSpecimen(facts, specimen)),
  }));
}

/** Whether a document has a value under a path, such as `massG.blankLoss`. */
const isTold = (document: object, path: string): boolean =>
  path.split('.').reduce<unknown>((inner, name) => (inner as Record<string, unknown> | undefined)?.[name], document) !==
  undefined;

export const exposuresStand: Check = {
  code: 'exposures-stand',
  since: 1,
  clause: 'ISO 13485:2016 8.2.6; ASTM F3268, degradation control material; ASTM G1, G31',
  moment: 'release',
  run(facts) {
    const exposures = exposuresOf(facts);
    const rows = exposedRows(facts);
    return {
      findings: [
        ...controlFindings(facts, exposures),
        ...poolFindings(facts, rows),
        ...rateFindings(facts, rows),
        ...mediumFindings(facts, rows),
        ...untoldFindings(facts, exposures),
        ...farFindings(facts, rows),
      ],
      basis: {
        specimens: String(new Set(exposures.map(({ specimen }) => specimen)).size),
        values: String(rows.length),
      },
      doesNotApply: exposures.length === 0 && rows.length === 0,
    };
  },
};

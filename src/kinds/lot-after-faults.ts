import { closuresOf } from './build-chain.js';
import { type Contradiction, repeated, tooEarly } from './kind.js';
import type { Build, Coupon, Implant, Lot } from './lot.js';
import type { PartFate, ShapeScan } from './lot-after-build.js';

const partNamed = (document: Lot, code: string): Implant | Coupon | undefined =>
  document.implants.find(({ serial }) => serial === code) ?? document.coupons.find(({ coupon }) => coupon === code);

/** When the chamber of its first closure was opened: before that nobody could do anything to the part. */
const buildOf = (document: Lot, code: string): Build | undefined => {
  const part = partNamed(document, code);
  return part && document.builds.find(({ build }) => build === closuresOf(part)[0]);
};

function fateFaults(document: Lot, { part, as, at }: PartFate, field: string): Contradiction[] {
  const build = buildOf(document, part);
  if (build === undefined) return [];
  if (build.state !== 'planned') return tooEarly(`${field}.at`, at, build.openedAt, `build ${build.build} was opened`);
  return [
    {
      field: `${field}.part`,
      found: `${part} ${as}, and its build is only planned`,
      expected: 'a part that was built',
      remedy: 'correct the part, or the state of the build',
    },
  ];
}

/** What is wrong with a scan of a coupon that is held against a design. */
export const noDesignOf = (specimen: string): Omit<Contradiction, 'field'> & { readonly remedy: string } => ({
  found: `the design of ${specimen}`,
  expected: 'an implant: a coupon has no case',
  remedy: 'correct what it is held against',
});

/**
 * A scan is held against what there is: a design or a stock part of an implant, or an earlier scan of the same part.
 * @param document of a lot that was split from another: with what came over, which is known when all lots are.
 */
export function scanFaults(document: Pick<Lot, 'implants' | 'scans'>, scan: ShapeScan, field: string): Contradiction[] {
  const { specimen, against } = scan;
  const implant = document.implants.find(({ serial }) => serial === specimen);
  const at = `${field}.against`;
  const { remedy } = noDesignOf(specimen);
  if (against.what === 'design' && implant === undefined) return [{ field: at, ...noDesignOf(specimen) }];
  if (against.what === 'stock part' && implant?.builtOn === undefined) {
    const expected = 'an implant that names the stock part under builtOn';
    return [{ field: at, found: `the stock part of ${specimen}`, expected, remedy }];
  }
  if (against.what !== 'scan') return [];
  const other = (document.scans ?? []).find(
    (one) => one !== scan && one.specimen === specimen && one.scan === against.scan,
  );
  if (other === undefined) {
    return [{ field: `${at}.scan`, found: against.scan, expected: `another scan of ${specimen} in this lot`, remedy }];
  }
  return tooEarly(`${field}.at`, scan.at, other.at, `scan ${other.scan} was made`);
}

/** What in fates, labels and scans cannot be true together. Whether the parts are known is asked with all names. */
export function afterBuildFaults(document: Lot): Contradiction[] {
  const { fates = [], scans = [], labels } = document;
  return [
    ...repeated(
      fates.map(({ part }) => part),
      (index) => `fates[${index}].part`,
      'part',
    ),
    ...fates.flatMap((fate, index) => fateFaults(document, fate, `fates[${index}]`)),
    ...repeated(
      scans.map(({ specimen, scan }) => `${specimen} ${scan}`),
      (index) => `scans[${index}].scan`,
      'scan',
    ),
    // Of a lot without a build the units come from another one, with scans of theirs: those are looked at with its moves.
    ...(document.splitFrom === undefined
      ? scans.flatMap((scan, index) => scanFaults(document, scan, `scans[${index}]`))
      : []),
    ...(labels?.inspected && labels.inspected.sample > labels.printed
      ? [
          {
            field: 'labels.inspected.sample',
            found: String(labels.inspected.sample),
            expected: `at most the ${labels.printed} that were printed`,
            remedy: 'correct one of the two numbers',
          },
        ]
      : []),
  ];
}

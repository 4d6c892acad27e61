import { within } from './acceptance.js';
import { type Carried, compare, converted, day, digits, type Json, moment, unique } from './carried.js';
import type { Asked } from './checks.js';
import { decided, implantsOfBuild } from './closures.js';
import { onStock, originsUnder } from './stock-origins.js';
import {
  approvalOf,
  BLOCKS,
  C,
  certificateDigest,
  D,
  FAILS,
  type Found,
  found,
  isApproved,
  receiptDigest,
  receiptsOf,
  unapproved,
} from './words.js';

/** The material specification that a receipt names. */
const orderedTo = (carried: Carried, { materialSpecification: named }: Json): Json =>
  named && carried.pinned('material-specification', named.material, named.revision);

interface Delivery {
  readonly build: Json;
  readonly units: readonly string[];
  readonly body: Json;
  readonly ordered: Json;
}

/** Each receipt of each build. */
const deliveries = (carried: Carried): Delivery[] =>
  carried.builds.flatMap((build) => {
    const units = implantsOfBuild(carried, build.build);
    return receiptsOf(carried, build).map(({ body }) => ({ build, units, body, ordered: orderedTo(carried, body) }));
  });

const isBuiltIn = ({ lot }: Carried, build: string): boolean =>
  [...lot.implants, ...lot.coupons].some((part: Json) => part.build === build);

const ordered = (carried: Carried): Delivery[] => deliveries(carried).filter((one) => one.ordered !== undefined);

export function linesAsked(carried: Carried, receipt: Json): Json[] {
  const own = (carried.specification.body.materials ?? []).filter(
    ({ material }: Json) => material === receipt.material,
  );
  return [
    ...own.map((limit: Json) => ({ ...limit, from: 'certificate' })),
    ...(orderedTo(carried, receipt)?.body.lines ?? []),
  ];
}

/** Of what a code says to be a share. */
function shareOf(code: string): string | undefined {
  if (/\{vol|^.?L\/.?L$/i.test(code)) return 'volume';
  if (/\{mass|^[a-z]{0,2}g\/[a-z]{0,2}g$/.test(code)) return 'mass';
  return /mol\/.?mol/.test(code) ? 'amount' : undefined;
}

export function standing({ value, ucum }: Json, limit: Json, category: string): string {
  const [, sign, number] = /^([<>≤≥]?)\s?(.+)$/.exec(value)!;
  const same = converted(number!, ucum, limit.ucum);
  const [stated, wanted] = [shareOf(ucum), shareOf(limit.ucum)];
  const isOther = stated !== undefined && wanted !== undefined && stated !== wanted;
  if (same === undefined || isOther) return 'units do not compare';
  if (category === 'gas' && wanted !== undefined && stated === undefined) return 'basis not stated';
  if (category !== 'gas' && (stated ?? 'mass') !== (wanted ?? 'mass')) return 'units do not compare';
  return within(`${sign}${same}`, limit);
}

function told(line: Json, limit: Json, { category }: Json, units: readonly string[]): Found[] {
  const how = standing(line, limit, category);
  if (how === 'conforms') return [];
  if (how === 'does not conform') return [found('outside limits', units, { ...FAILS, ...C })];
  return how === 'cannot be decided' ? [found('not decidable', units, C)] : [found(how, units)];
}

function ownTest(carried: Carried, { body, units, ordered: spec }: Delivery, limit: Json): Found[] {
  const tests = carried
    .allPinned('powder-state')
    .filter((state) => state.body.inputs.some(({ receipt }: Json) => receipt === body.receipt))
    .flatMap((state) => state.body.tests ?? [])
    .filter(({ property }: Json) => property === limit.property);
  if (tests.length === 0) return spec.body.skipTest === undefined ? [found('own test missing', units)] : [];
  return tests.flatMap((test) => told(test, limit, body, units));
}

function percentiles(lines: readonly Json[]): boolean {
  const named = ['D10', 'D50', 'D90'].flatMap((name) => lines.filter(({ property }) => property === name));
  const sizes = named.map(({ value, ucum }) => converted(value.replace(/^[<>≤≥]\s?/, ''), ucum, 'um'));
  return sizes.every((size, at) => size !== undefined && (at === 0 || compare(sizes[at - 1] ?? size, size) < 0));
}

function sumIsOff(lines: readonly Json[], range: Json): boolean {
  const own = range.properties.map((name: string) => lines.find(({ property }) => property === name));
  if (own.some((line: Json) => line === undefined)) return false;
  const values: string[] = own.map(({ value, ucum }: Json) =>
    converted(value.replace(/^[<>≤≥]\s?/, ''), ucum, range.ucum),
  );
  if (values.some((value) => value === undefined)) return false;
  const sum = (with0: boolean) =>
    values.reduce((all, value, at) => all + (with0 && /^[<≤]/.test(own[at].value) ? 0 : Number(value)), 0);
  // Far enough from the limits of every test that binary numbers may add up.
  const isBelow = sum(false) < Number(range.lower) && own.every(({ value }: Json) => !/^[>≥]/.test(value));
  return isBelow || sum(true) > Number(range.upper);
}

/** The powder of each build with the receipts that went into its states, and the least that their specifications allow. */
const limited = (carried: Carried, limit: string) =>
  carried.builds.flatMap((build) =>
    ((build.powder ?? []) as Json[]).flatMap((powder) => {
      const receipts = receiptsOf(carried, { powder: [powder] });
      const limits: number[] = receipts
        .map(({ body }) => orderedTo(carried, body)?.body[limit])
        .filter((one) => one !== undefined)
        .map(Number);
      const units = implantsOfBuild(carried, build.build);
      return limits.length === 0 ? [] : [{ build, powder, units, most: Math.min(...limits) }];
    }),
  );

function cyclesOf(carried: Carried, code: string): number {
  const { operation, inputs } = carried.pinned('powder-state', code).body;
  const before: number[] = inputs.map((input: Json) =>
    input.state === undefined
      ? Number(carried.pinned('receipt', input.receipt).body.state === 'used')
      : cyclesOf(carried, input.state),
  );
  return Math.max(...before) + Number(operation === 'recover');
}

/** Receipts of builds that nobody had accepted when the chamber closed, with the build at risk that names each. */
const atRisk = (carried: Carried) =>
  carried.builds.flatMap((build) =>
    receiptsOf(carried, build).flatMap(({ body }) => {
      const asked = carried.pinned('risk-build', build.build);
      if (!asked?.body.receipts.includes(body.receipt)) return [];
      const approval = approvalOf(carried, receiptDigest(body), body.acceptance);
      const isInTime = isApproved(approval) && moment(approval.at) <= moment(build.closedAt);
      return body.status === 'accepted' && isInTime ? [] : [{ build, asked }];
    }),
  );

export const CHECKS_OF_MATERIALS: Readonly<Record<string, Asked>> = {
  'supplier-approved': (carried) => {
    const plain = (text: string) => text.trim().toLowerCase().replace(/\s+/g, ' ');
    return {
      found: ordered(carried).flatMap(({ body, units, ordered: { body: spec } }): Found[] => {
        const approvals: Json[] = (carried.pinned('supplier', body.supplier).body.approvals ?? []).filter(
          ({ scope }: Json) => [spec.material, spec.title].map(plain).includes(plain(scope)),
        );
        if (approvals.length === 0) return [found('not approved for it', units, C)];
        const on = day(body.receivedAt);
        return approvals.some(({ from, to }) => from <= on && on <= to)
          ? []
          : [found('not approved on the day', units, C)];
      }),
      applies: ordered(carried).length > 0,
    };
  },

  'delivered-as-ordered': (carried) => ({
    found: ordered(carried).flatMap(({ build, body, units, ordered: spec }): Found[] => {
      const { material, effectiveFrom, certificateTypes, shelfLifeDays, approval } = spec.body;
      const standing = approvalOf(carried, spec.digest, approval);
      const type = body.certificate?.type;
      const age = Math.round((moment(day(build.closedAt)) - moment(day(body.receivedAt))) / 86_400_000);
      return [
        ...(standing.how === 'approved' ? [] : [found(standing.how, units)]),
        ...(body.material === material ? [] : [found('another material', units)]),
        ...(moment(effectiveFrom) > moment(body.receivedAt) ? [found('not yet effective', units, C)] : []),
        ...(type !== undefined && certificateTypes !== undefined && !certificateTypes.includes(type)
          ? [found('type not accepted', units, C)]
          : []),
        ...(body.labelLot === undefined ? [found('label not read', units, C)] : []),
        ...(body.labelLot === undefined || body.labelLot === body.supplierLot
          ? []
          : [found('another lot on the label', units)]),
        ...(body.container?.sealed === 'no' ? [found('seal broken', units, C)] : []),
        ...(body.container?.desiccantTouches === 'yes' ? [found('desiccant in it', units, C)] : []),
        ...(shelfLifeDays !== undefined && age > Number(shelfLifeDays) ? [found('kept too long', units, C)] : []),
      ];
    }),
    applies: ordered(carried).length > 0,
  }),

  'material-accepted': (carried) => ({
    found: [
      ...carried.builds
        .filter(({ build, state, powder }) => state !== 'planned' && powder.length === 0 && isBuiltIn(carried, build))
        .map(({ build }) => found('no powder named', implantsOfBuild(carried, build))),
      ...deliveries(carried).flatMap(({ build, body, units }): Found[] => {
        const approval = approvalOf(carried, receiptDigest(body), body.acceptance);
        const about = { before: build.closedAt, rule: 'accepted after the build', units };
        const isExpired = body.expiry !== undefined && body.expiry < day(build.closedAt);
        const isAsked = carried.pinned('risk-build', build.build)?.body.receipts.includes(body.receipt);
        return [
          ...(body.status === 'accepted'
            ? unapproved(
                approval,
                isAsked ? { ...about, before: '9999-01-01T00:00:00Z' } : about,
                {},
                { ...BLOCKS, ...D },
              )
            : [found('not accepted', units, body.status === 'rejected' ? FAILS : {})]),
          ...(isExpired ? [found('expired', units, C)] : []),
        ];
      }),
    ],
  }),

  'risk-build-signed': (carried) => {
    const all = atRisk(carried);
    return {
      found: all.flatMap(({ build, asked }): Found[] => {
        const units = implantsOfBuild(carried, build.build);
        const unnamed = units.filter((unit) => !asked.body.implants.includes(unit));
        const as = decided(carried, asked.digest);
        const last = Math.max(...carried.signed(asked.digest, 'decided').map(({ at }) => moment(at)));
        return [
          ...(as === 'accepted' || as === 'rejected' ? [] : [found('not signed by both', units, { ...BLOCKS, ...D })]),
          ...(as === 'rejected' ? [found('rejected', units, { ...BLOCKS, ...D })] : []),
          ...(as === 'accepted' && last > moment(build.closedAt)
            ? [found('signed after the chamber closed', units, { ...BLOCKS, ...D })]
            : []),
          ...(unnamed.length > 0 ? [found('unit not named', unnamed, { ...BLOCKS, ...D })] : []),
        ];
      }),
      applies: all.length > 0,
    };
  },

  'corrections-judged': (carried) => {
    const own = deliveries(carried)
      .filter(({ build, body }) => body.corrects !== undefined && body.certificate.issued > day(build.closedAt))
      .map(({ body, units }) => ({ receipt: body.receipt, units, rule: 'corrected after the build' }));
    const under = onStock(carried, carried.lot.implants).flatMap((on) =>
      originsUnder(carried, on)
        .flatMap(({ corrected = [] }) => corrected)
        .filter(({ issued, closedAt }: Json) => issued > day(closedAt))
        .map(({ receipt }: Json) => ({ receipt, units: on.units, rule: 'corrected after what it is built on' })),
    );
    const all = [...own, ...under];
    return {
      found: all.flatMap(({ receipt, units, rule }): Found[] => {
        const impacts = carried
          .allPinned('impact')
          .filter(({ digest: id, body: { cause } }) => {
            return cause.kind === 'receipt' && cause.key === receipt && decided(carried, id) === 'accepted';
          })
          .flatMap((impact) => impact.body.decisions ?? []);
        const left = units.filter((unit) => !impacts.some(({ implant, as }) => implant === unit && as === 'no effect'));
        return units.length > 0 && left.length === 0 ? [] : [found(rule, left, BLOCKS)];
      }),
      applies: all.length > 0,
    };
  },

  'certificates-within-limits': (carried) => ({
    found: deliveries(carried).flatMap((one): Found[] => {
      const { body, units } = one;
      const { certificate } = body;
      const asked = linesAsked(carried, body);
      if (asked.length === 0) return [];
      const tested = asked.filter(({ from }) => from === 'own test').flatMap((limit) => ownTest(carried, one, limit));
      const certified = asked.filter(({ from }) => from === 'certificate');
      if (certificate === undefined)
        return [...(certified.length > 0 ? [found('no certificate', units)] : []), ...tested];
      const checks = carried.signed(certificateDigest(body), 'checked');
      const isChecked = checks.some(({ person }) => person.code !== certificate.transcribedBy);
      return [
        ...(isChecked ? [] : [found('transcription not checked', units)]),
        ...certified.flatMap((limit) => {
          const line = certificate.lines.find((item: Json) => item.property === limit.property);
          return line === undefined ? [found('line missing', units)] : told(line, limit, body, units);
        }),
        ...tested,
      ];
    }),
    applies:
      (carried.specification.body.materials ?? []).length > 0 || carried.allPinned('material-specification').length > 0,
  }),

  'powder-reuse-within-limit': (carried) => {
    const all = limited(carried, 'reuseLimit');
    return {
      found: all
        .filter(({ powder, most }) => cyclesOf(carried, powder.state) > most)
        .map(({ units }) => found('used too often', units, C)),
      applies: all.length > 0,
    };
  },

  'powder-balance': (carried) => {
    const all = limited(carried, 'balancePercent').filter(({ build }) => build.state !== 'planned');
    return {
      found: all.flatMap(({ powder, units, most }) => {
        const out = [powder.depositedG, powder.recoveredG, powder.wasteG];
        if (out.some((massG) => massG === undefined)) return [found('not weighed', units, C)];
        const missing = digits(
          out.reduce((left, massG) => left - Number(massG), Number(powder.chargedG)),
          9,
        );
        return Math.abs(missing) * 100 > Number(powder.chargedG) * most ? [found('does not add up', units, C)] : [];
      }),
      applies: all.length > 0,
    };
  },

  'certificates-plausible': (carried) => {
    const certified = ordered(carried).filter(({ body }) => body.certificate !== undefined);
    return {
      found: certified.flatMap(({ body, units, ordered: { body: spec } }) => [
        ...(percentiles(body.certificate.lines) ? [] : [found('sizes out of order', units, C)]),
        ...(spec.sumRange !== undefined && sumIsOff(body.certificate.lines, spec.sumRange)
          ? [found('sum out of range', units, C)]
          : []),
      ]),
      applies: certified.length > 0,
    };
  },
};

const WORST_FIRST = ['does not conform', 'units do not compare', 'basis not stated', 'cannot be decided', 'conforms'];

/** Every line of the certificate of a receipt, and every line asked for that it lacks. */
export function certificateLines(carried: Carried, receipt: Json): { property: string; outcome: string }[] {
  const lines: Json[] = receipt.certificate?.lines ?? [];
  const asked = linesAsked(carried, receipt).filter(({ from }) => from === 'certificate');
  const properties = unique([...lines, ...(lines.length > 0 ? asked : [])].map(({ property }) => property as string));
  return properties.map((property) => {
    const line = lines.find((one) => one.property === property);
    if (line === undefined) return { property, outcome: 'missing' };
    const limits = asked.filter((one) => one.property === property && (one.lower ?? one.upper) !== undefined);
    const standings = limits.map((limit) => standing(line, limit, receipt.category));
    return { property, outcome: WORST_FIRST.find((one) => standings.includes(one)) ?? 'for information' };
  });
}

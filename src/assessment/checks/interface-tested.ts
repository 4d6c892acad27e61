import type { Facts } from '../../dossier/facts.js';
import { type Characteristic, INTERFACE_PROPERTIES, type InterfaceProperty } from '../../kinds/specification.js';
import { couponsOfPlan, currentResults } from '../specimens.js';
import { type BuiltOnStock, implantsOnStock, interfaceClass, onStock } from '../stock.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

type Drafts = (rule: string, more: FindingDraft['facts'], mayBeDecided?: FindingDraft['mayBeDecided']) => FindingDraft;

/** What is measured where new metal meets stock, or why it is not: every property, in a zone of that class. */
function findingsFor(facts: Facts, of: BuiltOnStock): FindingDraft[] {
  const { serial } = of.part;
  const found: Drafts = (rule, told, mayBeDecided = 'no') => ({
    ...{ rule, subjects: [subject('implant', serial)], facts: { implant: serial, ...told } },
    ...{ effect: 'cannot be decided' as const, units: [serial], mayBeDecided },
  });
  const { interface: told = [] } = facts.specification.body.builtOnStock ?? {};
  return INTERFACE_PROPERTIES.flatMap((property): FindingDraft[] => {
    const own = told.filter(({ tells }) => tells === property);
    if (own.length === 0) return [found('nothing tells of it', { property }, 'decision')];
    return own.flatMap((line) =>
      'characteristic' in line ? measuredFindings(facts, of, property, line.characteristic, found) : [],
    );
  });
}

function measuredFindings(
  facts: Facts,
  of: BuiltOnStock,
  property: InterfaceProperty,
  code: string,
  found: Drafts,
): FindingDraft[] {
  const item = facts.specification.body.characteristics.find(({ characteristic }) => characteristic === code)!;
  const zoneClass = interfaceClass(facts, of);
  const told = { property, characteristic: code };
  if (item.zoneClass !== undefined && item.zoneClass !== zoneClass) {
    return [found('of another zone', { ...told, zoneClass: zoneClass ?? '' }, 'decision')];
  }
  // Of the implant itself the values are asked for with all others.
  return item.measuredOn === 'implant' ? [] : couponFindings(facts, of, item, told, found);
}

/** Every coupon that acceptance may look at speaks for the place where metals meet only where it was built on the same stock, made ready in the same way. */
function couponFindings(
  facts: Facts,
  of: BuiltOnStock,
  item: Characteristic,
  told: FindingDraft['facts'],
  found: Drafts,
): FindingDraft[] {
  const { material, interface: face } = of.stock.body;
  const measured = new Set(
    currentResults(facts).flatMap((row) => (row.characteristic === item.characteristic ? [row.specimen] : [])),
  );
  const coupons = couponsOfPlan(facts, of.part, item).filter(({ coupon }) => measured.has(coupon));
  if (coupons.length === 0) return [found('no coupon tells of it', told, 'decision')];
  return coupons.flatMap((coupon) => {
    const own = onStock(facts, coupon)?.stock.body;
    if (own === undefined) return [found('coupon on no stock', { ...told, coupon: coupon.coupon }, 'decision')];
    const isAlike = own.material === material && own.interface.preparation === face.preparation;
    return isAlike
      ? []
      : [found('coupon on other stock', { ...told, coupon: coupon.coupon, stockPart: own.stockPart }, 'decision')];
  });
}

export const interfaceTested: Check = {
  code: 'interface-tested',
  since: 1,
  clause: 'ISO 13485:2016 7.1, 7.3.3, 8.2.6',
  moment: 'release',
  run(facts) {
    const all = implantsOnStock(facts);
    const { interface: told = [] } = facts.specification.body.builtOnStock ?? {};
    return {
      findings: all.flatMap((of) => findingsFor(facts, of)),
      basis: {
        implants: all.map(({ part }) => part.serial).join(', '),
        characteristics: told.flatMap((line) => ('characteristic' in line ? [line.characteristic] : [])).join(', '),
        reasons: JSON.stringify(
          told.flatMap((line) => ('notMeasured' in line ? [[line.tells, line.notMeasured]] : [])),
        ),
      },
      doesNotApply: all.length === 0,
    };
  },
};

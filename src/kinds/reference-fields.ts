import type { KindName } from './catalogue.js';

/** Fields of documents that name entries, and of which kinds, by the last name of their place. */
const NAMES: Readonly<Record<string, readonly KindName[]>> = {
  ...named('person', 'analyst by checkedBy decidedBy designer enteredBy madeBy operator participants seenBy'),
  ...named('person', 'person transcribedBy who witness'),
  ...named('implant', 'expected implant implants serial standsFor units'),
  ...named('coupon', 'coupon coupons'),
  ...named('lot', 'fromLot lot lots toLot'),
  ...named('machine', 'equipment machine machines'),
  ...named('supplier', 'contractor supplier'),
  ...named('instrument', 'instrument instruments weighedWith'),
  ...named('receipt', 'receipt receipts'),
  ...named('powder-state', 'intoState recoveredInto state'),
  ...named('consumable', 'batch bottle consumable consumables'),
  ...named('process-load', 'load sterilisedIn'),
  ...named('stock-part', 'builtOn stockPart'),
  ...named('equivalence-study', 'study'),
  ...named('process-validation', 'validation'),
  ...named('test-medium', 'medium'),
  ...named('channel-map', 'map'),
  ...named('design-study', 'designStudy'),
  ...named('design-envelope', 'envelope'),
  ...named('imaging-set', 'imagingSet imagingSets'),
  ...named('rework-instruction', 'instruction'),
  ...named('capability-plan', 'plan'),
  ...named('user-need', 'need'),
  ...named('design-input', 'input'),
  ...named('design-output', 'output'),
  ...named('storage-place', 'place'),
  build: ['build'],
  case: ['case'],
  changeover: ['changeover'],
  family: ['family'],
  handover: ['handover'],
  hazard: ['hazard'],
  method: ['method'],
  nonconformity: ['nonconformity'],
  part: ['implant', 'coupon'],
  parts: ['implant', 'coupon'],
  recipe: ['recipe'],
  software: ['software'],
  specification: ['specification'],
  specimen: ['implant', 'coupon'],
};

function named(kind: KindName, names: string): Record<string, readonly KindName[]> {
  return Object.fromEntries(names.split(' ').map((name) => [name, [kind]]));
}

/** Where a lot brings parts into being: there a code is new. */
const DECLARED: ReadonlySet<string> = new Set(['builds.build', 'implants.serial', 'coupons.coupon']);
/** Of these a lot names its own alone. */
const OF_LOT: ReadonlySet<string> = new Set(['build', 'implant', 'coupon']);

export interface Referenced {
  readonly kinds: readonly string[];
  /** Where the document itself says them; then no other is meant. */
  readonly declaredIn?: readonly string[];
}

/**
 * Of which kinds a code is that stands at a place of a document; undefined where it is none, is new, or may be anything.
 * @param kind of the document. @param path of the field, as problems name it. @param besideIt what stands in the field
 * `kind` beside it, for a reference that says its kind.
 */
export function referencedAt(kind: string, path: string, besideIt: string | undefined): Referenced | undefined {
  const place = path.replaceAll(/\[\d+\]/g, '');
  const name = place.slice(place.lastIndexOf('.') + 1);
  if (name === 'key') return besideIt ? { kinds: [besideIt] } : undefined;
  const kinds = name === 'material' ? materialAt(place) : Object.hasOwn(NAMES, name) ? NAMES[name] : undefined;
  if (kinds === undefined) return undefined;
  if (kind !== 'lot') return place === name && kinds.some((one) => one === kind) ? undefined : { kinds };
  if (DECLARED.has(place) || place === 'lot') return undefined;
  if (!kinds.every((one) => OF_LOT.has(one))) return { kinds };
  const declaredIn = [...DECLARED].filter((one) => kinds.some((of) => one.startsWith(`${of}s.`)));
  return { kinds, declaredIn };
}

/** Elsewhere a material is what specifications call it, and no entry. */
const materialAt = (place: string): readonly KindName[] | undefined =>
  place.endsWith('materialSpecification.material') ? ['material-specification'] : undefined;

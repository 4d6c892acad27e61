import { type Carried, day, digest, type Json, moment, type Row, unique } from './carried.js';
import { decided, implantsOf, implantsOfBuild, madeIn } from './closures.js';

/** What a check found, as far as its state and its implants need it. */
export interface Found {
  readonly rule: string;
  readonly units: readonly string[];
  readonly effect: 'cannot be decided' | 'does not conform' | 'blocks release';
  readonly may: 'no' | 'decision' | 'concession';
  /** Only evidence is wanting: it does not fail the check. */
  readonly isWant?: boolean;
}

export const found = (rule: string, units: readonly string[], more: Partial<Found> = {}): Found => ({
  rule,
  units,
  effect: 'cannot be decided',
  may: 'no',
  ...more,
});
export const [C, D] = [{ may: 'concession' }, { may: 'decision' }] as const;
export const [FAILS, BLOCKS] = [{ effect: 'does not conform' }, { effect: 'blocks release' }] as const;

export type Approval =
  | { readonly how: 'approved'; readonly at: string }
  | { readonly how: 'no approval' | 'claimed, not signed' };

/** @param covered digest of what is approved. @param claim approval or acceptance of the document. */
export function approvalOf(carried: Carried, covered: string, claim: Json): Approval {
  const [first] = carried.signed(covered, 'approved');
  if (first) return { how: 'approved', at: first.at };
  if (claim?.original !== undefined) return { how: 'approved', at: claim.at };
  return { how: claim === undefined ? 'no approval' : 'claimed, not signed' };
}

export const isApproved = (approval: Approval): approval is Extract<Approval, { how: 'approved' }> =>
  approval.how === 'approved';

/** The finding on an approval that is missing or came too late. */
export function unapproved(
  approval: Approval,
  { before, rule, units }: { before: string; rule: string; units: readonly string[] },
  missing: Partial<Found> = {},
  late: Partial<Found> = C,
): Found[] {
  if (!isApproved(approval)) return [found(approval.how, units, missing)];
  return moment(approval.at) > moment(before) ? [found(rule, units, late)] : [];
}

export const certificateDigest = ({ receipt, certificate }: Json): string | undefined => {
  if (certificate === undefined) return undefined;
  const { checkedBy, ...transcribed } = certificate;
  return digest({ receipt, ...transcribed });
};

export function receiptDigest(body: Json): string {
  const { receipt, supplier, material, supplierLot, heats = [], status, expiry = '' } = body;
  const seen = ['materialSpecification', 'container', 'labelLot', 'state'].filter((name) => body[name] !== undefined);
  return digest({
    ...{ receipt, supplier, material, supplierLot, heats, status, expiry },
    certificate: certificateDigest(body) ?? '',
    ...Object.fromEntries(seen.map((name) => [name, body[name]])),
  });
}

/** A build with a recipe revision by which parts were made there. */
export interface Use {
  readonly build: Json;
  readonly recipe: Json;
  readonly units: readonly string[];
  does(step: string): boolean;
}

export function usesOf(carried: Carried): Use[] {
  return carried.builds.flatMap((build) => {
    const made = madeIn(carried, build.build);
    const names = unique(made.map(({ recipe }) => `${recipe.recipe} ${recipe.revision}`));
    return names.flatMap((name): Use[] => {
      const parts = made.filter((one) => `${one.recipe.recipe} ${one.recipe.revision}` === name);
      const [{ recipe: named }] = parts as [Json];
      const recipe = carried.pinned('recipe', named.recipe, named.revision);
      const units = unique(parts.flatMap(({ isImplant, code, part }) => (isImplant ? [code] : part.standsFor)));
      return recipe ? [{ build, recipe, units, does: (step) => parts.some((one) => one.does(step)) }] : [];
    });
  });
}

/** The process validation that covers a use. */
export const validationOf = (carried: Carried, { build, recipe }: Use): Json | undefined =>
  (carried.specification.body.validations ?? [])
    .map(({ validation, revision }: Json) => carried.pinned('process-validation', validation, revision))
    .find((one: Json) => one?.body.machine === build.machine && one.body.recipeGroups.includes(recipe.body.group));

/** Receipts of the gas and of the powder that went into a build. */
const partsOn = ({ implants, coupons }: Carried, { build }: Json): Json[] =>
  [...implants, ...coupons].filter((part) => part.build === build && part.builtOn !== undefined);

export function receiptsOf(carried: Carried, build: Json): Json[] {
  const receipts = new Set<string>((build.gas ?? []).map(({ receipt }: Json) => receipt));
  for (const { builtOn } of partsOn(carried, build)) {
    const { receipt } = carried.pinned('stock-part', builtOn)?.body ?? {};
    if (receipt !== undefined) receipts.add(receipt);
  }
  const states = new Set<string>((build.powder ?? []).map(({ state }: Json) => state));
  for (const state of states) {
    for (const input of carried.pinned('powder-state', state)?.body.inputs ?? []) {
      if (input.receipt === undefined) states.add(input.state);
      else receipts.add(input.receipt);
    }
  }
  return [...receipts].map((code) => carried.pinned('receipt', code));
}

export function unqualified(
  carried: Carried,
  person: string,
  operation: string,
  at: string,
  units: readonly string[],
): Found[] {
  const entries: Json[] = (carried.pinned('person', person)?.body.qualifications ?? []).filter(
    (one: Json) => one.operation === operation,
  );
  const covering = entries.filter(({ from, to }) => from <= day(at) && (to === undefined || day(at) <= to));
  const isSigned = covering.some(({ from, to = '', evidence = '' }) => {
    return carried.signed(digest({ person, operation, from, to, evidence }), 'approved').length > 0;
  });
  if (isSigned) return [];
  if (covering.length > 0) return [found('qualification not signed', units, C)];
  return [found(entries.length === 0 ? 'not qualified' : 'qualification not valid on the day', units, C)];
}

/** What is wrong with the calibration of an instrument at a moment. */
export function calibrationFault(
  { calibrations = [] }: Json,
  at: string,
): { rule: string; more?: Partial<Found> } | undefined {
  const inOrder = [...calibrations].sort((a: Json, b: Json) => moment(a.at) - moment(b.at));
  const latest = inOrder.findLast((one: Json) => moment(one.at) <= moment(at));
  const next = inOrder.find((one: Json) => moment(one.at) > moment(at));
  if (latest === undefined) return { rule: 'no calibration' };
  if (latest.asLeft === 'out of tolerance') return { rule: 'left out of tolerance' };
  if (next?.asFound === 'out of tolerance') return { rule: 'found out of tolerance later', more: D };
  if (moment(at) <= moment(latest.due)) return undefined;
  if (next?.asFound === 'in tolerance') return { rule: 'overdue at use, found in tolerance since', more: D };
  return { rule: 'overdue at use' };
}

export const implantsOfRows = (carried: Carried, rows: readonly Row[]): string[] =>
  unique(rows.flatMap(({ specimen }) => implantsOf(carried, specimen!)));

export const implantsOfBuilds = (carried: Carried, builds: readonly Json[]): string[] =>
  unique(builds.flatMap(({ build }) => implantsOfBuild(carried, build)));

/** Implants on which a finding acts: all where it comes to none of the lot. */
export function actsOn({ serials }: Carried, { units }: Found): string[] {
  const known = serials.filter((serial) => units.includes(serial));
  return known.length > 0 ? known : [...serials];
}

export type State = 'passes' | 'fails' | 'cannot be decided' | 'does not apply';

/** State of a check from what was found, and from the decisions on findings that one may lift. */
export function stateOf(carried: Carried, code: string, all: readonly Found[], applies: boolean): State {
  if (all.length === 0) return applies ? 'passes' : 'does not apply';
  const stated: Json[] = carried.assessment.checks.find((check: Json) => check.code === code).findings;
  const left = all.filter((one) => one.may !== 'decision' || !isLifted(carried, code, one, stated));
  if (left.length === 0) return 'passes';
  return left.every(({ effect, isWant }) => effect === 'cannot be decided' || isWant) ? 'cannot be decided' : 'fails';
}

/** Every finding stated with this rule and these implants is accepted, by the identity that its facts give. */
export function isLifted(carried: Carried, check: string, one: Found, stated: readonly Json[]): boolean {
  const units = actsOn(carried, one).sort().join();
  const same = stated.filter(({ rule, units: named }) => rule === one.rule && [...named].sort().join() === units);
  return (
    same.length > 0 && same.every((finding) => decided(carried, identityOf(carried, check, finding)) === 'accepted')
  );
}

export const identityOf = ({ dossier: { lot } }: Carried, check: string, { rule, subjects, facts }: Json): string =>
  digest({ lot, check, rule, subjects, facts });

import { type Carried, digest, grouped, type Json, moment, unique } from './carried.js';

/** A part as far as it was made in one build. */
export interface Made {
  readonly code: string;
  readonly isImplant: boolean;
  readonly part: Json;
  /** Its zones with the layers made there. */
  readonly zones: readonly Json[];
  readonly recipe: Json;
  does(step: string): boolean;
}

export const codeOf = (part: Json): string => part.serial ?? part.coupon;

/** A build and those that it continues. */
export function chainOf({ builds }: Carried, build: string): Json[] {
  const chain: Json[] = [];
  for (let at = build; ; ) {
    const found = builds.find((item) => item.build === at);
    if (found === undefined || chain.includes(found)) return chain;
    chain.push(found);
    at = found.continues?.build;
  }
}

/** What was made in a build. */
export function madeIn(carried: Carried, build: string): Made[] {
  return [...carried.implants, ...carried.coupons].flatMap((part): Made[] => {
    const further: Json[] = part.alsoIn ?? [];
    const elsewhere = further.filter(({ recipe }) => recipe === undefined).flatMap(({ steps }) => steps);
    const ways = [
      { chain: chainOf(carried, part.build), recipe: part.recipe, does: (step: string) => !elsewhere.includes(step) },
      ...further.map((one) => ({
        chain: chainOf(carried, one.build),
        recipe: one.recipe ?? part.recipe,
        does: (step: string): boolean => one.steps.includes(step),
      })),
    ];
    const way = ways.find(({ chain }) => chain.some((item) => item.build === build));
    if (way === undefined) return [];
    const at = way.chain.findIndex((item) => item.build === build);
    const least = way.chain[at].continues?.fromLayer ?? 0;
    const most = (way.chain[at - 1]?.continues?.fromLayer ?? Number.POSITIVE_INFINITY) - 1;
    const zones = part.zones
      .map((zone: Json) => ({ ...zone, from: Math.max(zone.layers.from, least), to: Math.min(zone.layers.to, most) }))
      .filter(({ from, to }: Json) => from <= to);
    if (zones.length === 0) return [];
    return [{ code: codeOf(part), isImplant: 'serial' in part, part, zones, recipe: way.recipe, does: way.does }];
  });
}

export const implantsOfBuild = (carried: Carried, build: string): string[] =>
  madeIn(carried, build).flatMap(({ isImplant, code }) => (isImplant ? [code] : []));

export const implantsOf = (carried: Carried, specimen: string): string[] =>
  carried.coupons.find(({ coupon }) => coupon === specimen)?.standsFor ?? [specimen];

/** A log finding, or many alike as one. */
export interface LogFinding {
  readonly id: string;
  readonly build: string;
  readonly rule: string;
  readonly level: 'alert' | 'action' | 'reject';
  readonly places: readonly Json[];
  readonly implants: readonly string[];
  readonly coupons: readonly string[];
}

const covers = (place: Json, zone: Json): boolean =>
  (place.zone === null || place.zone === zone.zone) &&
  (place.layerFrom === null || place.layerFrom <= zone.to) &&
  (place.layerTo === null || place.layerTo >= zone.from);

const EVERYWHERE = [{ zone: null, layerFrom: null, layerTo: null }];

function touching(made: readonly Made[], places: readonly Json[]): Pick<LogFinding, 'places' | 'implants' | 'coupons'> {
  const lies = (place: Json) => made.some(({ zones }) => zones.some((zone) => covers(place, zone)));
  const where = places.length > 0 && places.every(lies) ? places : EVERYWHERE;
  const touched = made.filter(({ zones }) => zones.some((zone) => where.some((place) => covers(place, zone))));
  const codes = (isImplant: boolean) => touched.filter((one) => one.isImplant === isImplant).map(({ code }) => code);
  return { places: where, implants: codes(true), coupons: codes(false) };
}

const LEVELS = ['alert', 'action', 'reject'];
const isMoreSevere = (a: Json, b: Json): boolean => LEVELS.indexOf(a.level) > LEVELS.indexOf(b.level);

/** Log findings as people decide on them. */
export function logFindings(carried: Carried): LogFinding[] {
  const left = carried.builds.flatMap(({ build }) => {
    const made = madeIn(carried, build);
    const all: Json[] = (carried.json(`log-${build}.json`)?.findings ?? []).map((finding: Json) => ({
      ...finding,
      ...touching(made, finding.places),
      said: finding.places,
    }));
    const told = (mild: Json) =>
      all.some(
        (one) =>
          one.rule === 'excursion' &&
          isMoreSevere(one, mild) &&
          one.channel === mild.channel &&
          one.facts.direction === mild.facts.direction &&
          one.startedAt >= mild.startedAt &&
          one.endedAt <= mild.endedAt &&
          mild.implants.every((code: string) => one.implants.includes(code)),
      );
    return all.filter((finding) => finding.rule !== 'excursion' || !told(finding));
  });
  const groups = grouped(left, ({ build, rule, channel, level, facts, implants, coupons }) =>
    JSON.stringify([build, rule, channel, level, facts.direction, facts.what, implants, coupons]),
  );
  return [...groups.values()].flatMap((members) => (members.length > 10 ? [asOne(carried, members)] : members));
}

function asOne(carried: Carried, members: readonly Json[]): LogFinding {
  const [first] = members;
  const { build, rule, level, channel } = first;
  const ids = members.map(({ id }) => id).sort();
  const id = digest({ lot: carried.dossier.lot, build, rule, level, channel, members: ids });
  const said = members.flatMap((member) => member.said);
  return { ...first, id, ...touching(madeIn(carried, build), said) };
}

/** Whether a part had gone on in another lot before a time. */
export const hadMoved = ({ lot }: Carried, code: string, at: string): boolean =>
  (lot.fates ?? []).some((fate: Json) => fate.as === 'moved' && fate.part === code && moment(fate.at) < moment(at));

/** What people decided on something by its identity. */
export function decided(carried: Carried, id: string): 'accepted' | 'rejected' | undefined {
  const statements = carried.signed(id, 'decided');
  if (statements.some(({ outcome }) => outcome === 'rejected')) return 'rejected';
  return isByBoth(statements) ? 'accepted' : undefined;
}

function isByBoth(statements: readonly Json[]): boolean {
  const by = (role: string): string[] =>
    unique(statements.filter(({ person }) => person.role === role).map(({ person }) => person.code));
  return by('process engineer').some((one) => by('quality engineer').some((other) => other !== one));
}

/** The earliest moment at which both had decided. */
export function decidedSince(carried: Carried, id: string): number {
  const statements = carried.signed(id, 'decided');
  const times = statements
    .map(({ at }) => moment(at))
    .filter((at) => isByBoth(statements.filter((one) => moment(one.at) <= at)));
  return Math.min(...times);
}

/** Layers of a part that a finding touches. */
export function layersTouched({ places }: LogFinding, made: Made | undefined): Set<number> {
  const found = new Set<number>();
  for (const zone of made?.zones ?? []) {
    for (const place of places.filter((one) => covers(one, zone))) {
      const to = Math.min(zone.to, place.layerTo ?? zone.to);
      for (let layer = Math.max(zone.from, place.layerFrom ?? zone.from); layer <= to; layer++) found.add(layer);
    }
  }
  return found;
}

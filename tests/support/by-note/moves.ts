import type { Json } from './carried.js';

/** The document of the lot of a record with the moves of its units, as the note says. */
export function lotNow({ lot: code, pinned }: Json): Json {
  const lots: Json[] = pinned.filter(({ kind }: Json) => kind === 'lot').map(({ body }: Json) => body);
  const own = lots.find(({ lot }) => lot === code);
  const moves: Json[] = pinned.filter(({ kind }: Json) => kind === 'unit-move').map(({ body }: Json) => body);
  const when = new Map<string, Json>();
  for (const move of moves)
    for (const part of [...(move.implants ?? []), ...(move.coupons ?? [])]) when.set(part, move);
  if (own.splitFrom !== undefined) {
    const origin = lots.find(({ lot }) => lot === own.splitFrom);
    return splitFrom(own, origin, when);
  }
  const gone = [...when].map(([part, { at, move }]) => ({ part, as: 'moved', at, evidence: move }));
  const steps = (own.steps ?? []).flatMap((step: Json) => left(step, partsOf(own), (part) => isIn(when, part, step)));
  return { ...own, steps, fates: [...gone, ...(own.fates ?? [])] };
}

const partsOf = ({ implants = [], coupons = [] }: Json): string[] => [
  ...implants.map(({ serial }: Json) => serial),
  ...coupons.map(({ coupon }: Json) => coupon),
];

const isIn = (when: ReadonlyMap<string, Json>, part: string, { at }: Json): boolean =>
  !when.has(part) || Date.parse(when.get(part).at) >= Date.parse(at);

function left(step: Json, all: readonly string[], isThere: (part: string) => boolean): Json[] {
  const parts = (step.parts ?? all).filter((part: string) => all.includes(part) && isThere(part));
  if (parts.length === 0) return [];
  return step.parts === undefined && parts.length === all.length ? [step] : [{ ...step, parts }];
}

function splitFrom(own: Json, origin: Json, when: ReadonlyMap<string, Json>): Json {
  const implants: Json[] = origin.implants.filter(({ serial }: Json) => when.has(serial));
  const coupons: Json[] = origin.coupons
    .map((one: Json) => ({ ...one, standsFor: one.standsFor.filter((serial: string) => when.has(serial)) }))
    .filter((one: Json) => one.standsFor.length > 0);
  const all = partsOf({ implants, coupons });
  const through = new Set<string>();
  const walk = (code: string | undefined): void => {
    if (code === undefined || through.has(code)) return;
    through.add(code);
    walk(origin.builds.find(({ build }: Json) => build === code)?.continues?.build);
  };
  for (const { build, alsoIn = [] } of [...implants, ...coupons]) {
    for (const code of [build, ...alsoIn.map((one: Json) => one.build)]) walk(code);
  }
  const both = (name: string, namesOf: (item: Json) => string[]): Json[] => [
    ...(origin[name] ?? []).filter((item: Json) => namesOf(item).every((part) => all.includes(part))),
    ...(own[name] ?? []),
  ];
  return {
    ...own,
    ...{ implants, coupons },
    builds: origin.builds.filter(({ build }: Json) => implants.length === 0 || through.has(build)),
    invalidTests: both('invalidTests', ({ result }) => [result.specimen]),
    replacements: both('replacements', ({ replaces, by }) => [replaces, by]),
    fates: both('fates', ({ part }) => [part]),
    scans: both('scans', ({ specimen }) => [specimen]),
    steps: [
      ...(origin.steps ?? []).flatMap((step: Json) => left(step, all, (part) => isIn(when, part, step))),
      ...(own.steps ?? []).flatMap((step: Json) => left(step, all, (part) => when.has(part))),
    ],
  };
}

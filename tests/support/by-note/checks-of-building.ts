import { couponsFor, zoneClass } from './acceptance.js';
import { type Carried, canonical, compare, converted, digits, grouped, type Json, moment, unique } from './carried.js';
import type { Asked } from './checks.js';
import { staysOfPlaces } from './checks-of-loads.js';
import {
  decided,
  hadMoved,
  implantsOf,
  implantsOfBuild,
  type LogFinding,
  layersTouched,
  logFindings,
  madeIn,
} from './closures.js';
import {
  approvalOf,
  C,
  calibrationFault,
  D,
  FAILS,
  type Found,
  found,
  isApproved,
  unapproved,
  unqualified,
  usesOf,
  validationOf,
} from './words.js';

const PROCESS = [
  'excursion',
  'break of inert atmosphere',
  'set value not as in the recipe',
  'step out of order',
  'step repeated early',
  'step too short',
  'step too long',
];
const isOfProcess = ({ rule }: LogFinding): boolean => PROCESS.includes(rule);

/** What log findings do to implants. */
const acting = (carried: Carried, findings: readonly LogFinding[]): Found[] =>
  findings.flatMap((one): Found[] => {
    const decision = decided(carried, one.id);
    const isThroughCoupons = one.implants.length === 0 && one.coupons.length > 0;
    const units = isThroughCoupons ? one.coupons.flatMap((code) => implantsOf(carried, code)) : one.implants;
    if (one.level === 'alert') return [];
    if (one.level === 'reject' || decision === 'rejected')
      return isThroughCoupons ? [] : [found(one.rule, units, FAILS)];
    return decision === 'accepted' ? [] : [found(one.rule, units)];
  });

/** A coupon with an implant for which it speaks, and the characteristics in which it does. */
function pairs(carried: Carried): { coupon: Json; implant: Json; items: Json[] }[] {
  const asked = carried.specification.body.characteristics.filter((item: Json) => item.measuredOn === 'coupon');
  return carried.coupons.flatMap((coupon) =>
    carried.implants
      .filter(({ serial }) => coupon.standsFor.includes(serial))
      .map((implant) => ({
        coupon,
        implant,
        items: asked.filter(
          (item: Json) => coupon.build !== implant.build || couponsFor(carried, implant, item).includes(coupon),
        ),
      }))
      .filter(({ items }) => items.length > 0),
  );
}

const closures = (part: Json): string =>
  [part.build, ...(part.alsoIn ?? []).map(({ build }: Json) => build)].sort().join();
const further = (part: Json): string =>
  (part.alsoIn ?? [])
    .map((one: Json) => canonical({ ...one, steps: [...one.steps].sort() }))
    .sort()
    .join();

function pairTroubles(carried: Carried, { coupon, implant, items }: ReturnType<typeof pairs>[number]): string[] {
  const recipeOf = ({ recipe }: Json) => `${recipe.recipe} ${recipe.revision}`;
  const states = (part: Json) =>
    unique(
      carried.builds
        .filter(({ build }) => closures(part).split(',').includes(build))
        .flatMap(({ powder = [] }) => powder.map(({ state }: Json) => state)),
    )
      .sort()
      .join();
  const rules: string[] = [];
  if (closures(coupon) !== closures(implant)) {
    rules.push('not from the same builds');
    if (states(coupon) !== states(implant)) rules.push('not of the same powder state');
  } else if (further(coupon) !== further(implant)) rules.push('not the same steps in a further closure');
  if (recipeOf(coupon) !== recipeOf(implant)) rules.push('not by the same recipe');
  else {
    for (const wanted of unique(items.flatMap((item) => item.zoneClass ?? []))) {
      const zones = coupon.zones.map((zone: Json) => zone.recipeZone);
      const isShared = implant.zones.some(
        ({ recipeZone }: Json) =>
          zones.includes(recipeZone) && zoneClass(carried, coupon.recipe, recipeZone) === wanted,
      );
      if (!isShared) rules.push('no recipe zone in common');
    }
  }
  const study = coupon.study && carried.pinned('equivalence-study', coupon.study.study, coupon.study.revision);
  if (!study) return [...rules, 'no equivalence study'];
  const { body } = study;
  const build = carried.builds.find((one) => one.build === coupon.build);
  const group = carried.pinned('recipe', coupon.recipe.recipe, coupon.recipe.revision).body.group;
  const closed = moment(build.closedAt);
  const isOver = body.validUntil !== undefined && closed > moment(body.validUntil);
  if (!isApproved(approvalOf(carried, study.digest, body.approval))) rules.push('study not approved');
  if (closed < moment(body.validFrom) || isOver) rules.push('study not valid on the build date');
  if (body.machine !== build.machine || !body.recipeGroups.includes(group)) rules.push('process not in the study');
  for (const item of items) {
    if (!body.characteristics.includes(item.characteristic)) rules.push('characteristic not in the study');
    const isKnown = item.zoneClass === undefined || body.zoneClasses.includes(item.zoneClass);
    if (!isKnown) rules.push('zone class not in the study');
  }
  for (const part of [coupon, implant]) {
    for (const what of ['position', 'orientation']) {
      const listed = body[`${what}s`] ?? [];
      if (listed.length > 0 && !listed.includes(part[what])) rules.push(`${what} not in the study`);
    }
  }
  return rules;
}

interface Setting {
  readonly key: string;
  readonly units: readonly string[];
  readonly rule: string | undefined;
  readonly isLogged: boolean;
}

/** Every setting in every zone of every part, against what was logged there. */
function settings(carried: Carried): Setting[] {
  const places = grouped(
    carried.summaries.filter(({ n }) => n !== '0'),
    ({ build, zone, step }) => `${build}\n${zone}\n${step}`,
  );
  return carried.builds
    .filter(({ build }) => carried.has(`log-${build}.json`))
    .flatMap(({ build }) =>
      madeIn(carried, build).flatMap((made) => {
        const recipe = carried.pinned('recipe', made.recipe.recipe, made.recipe.revision);
        const units = made.isImplant ? [made.code] : made.part.standsFor;
        return made.zones.flatMap(({ zone, recipeZone }) =>
          (recipe?.body.zones.find((one: Json) => one.zone === recipeZone)?.steps ?? [])
            .filter(({ step }: Json) => made.does(step))
            .flatMap((step: Json) =>
              step.parameters.map((parameter: Json) => {
                const rows = places.get(`${build}\n${zone}\n${step.step}`) ?? [];
                const key = [build, made.recipe.recipe, recipeZone, step.step, parameter.parameter].join('\n');
                const rule = rows.length === 0 ? undefined : settingRule(parameter, step, rows);
                return { key, units, rule, isLogged: rows.length > 0 };
              }),
            ),
        );
      }),
    );
}

function settingRule(parameter: Json, step: Json, rows: readonly Json[]): string | undefined {
  if (parameter.unlogged !== undefined) return undefined;
  const { actual, channel: repeating, set, within, ucum } = parameter;
  const isRepeated = actual === undefined && repeating !== undefined;
  const channel = actual ?? repeating ?? parameter.parameter.toLowerCase().replaceAll(' ', '_');
  const own = rows.filter((row) => row.channel === channel);
  if (own.length === 0) return isRepeated ? undefined : 'setting not logged';
  const inUnit = (value: number, from: string) => {
    const text = converted(String(value), from, ucum);
    return text === undefined ? undefined : digits(Number(text), 9);
  };
  let [sum, weight] = [0, 0];
  for (const row of own) {
    const isTimed = row.timeWeightedMean !== '' && Number(row.observedMs) > 0;
    const heavy = Number(isTimed ? row.observedMs : row.n);
    sum += heavy * Number(isTimed ? row.timeWeightedMean : row.mean);
    weight += heavy;
  }
  const mean = inUnit(sum / weight, own[0].ucum);
  if (mean === undefined) return 'units do not compare';
  if (isRepeated) return undefined;
  const bands = step.windows
    .filter((window: Json) => window.channel === channel && window.layers === undefined)
    .flatMap((window: Json) => {
      const level = (side: Json) => side?.action ?? side?.reject ?? side?.alert;
      const [low, high] = [level(window.below), level(window.above)];
      if (low === undefined || high === undefined) return [];
      const band = [inUnit(Number(low), window.ucum), inUnit(Number(high), window.ucum)];
      return band[0] === undefined ? [] : [band];
    });
  const [low, high] =
    within === undefined
      ? [Math.max(...bands.map(([one]: Json) => one)), Math.min(...bands.map(([, one]: Json) => one))]
      : [digits(Number(set) - Number(within), 9), digits(Number(set) + Number(within), 9)];
  if (within === undefined && bands.length === 0) return 'no allowed deviation stated';
  return mean >= low && mean <= high ? undefined : 'set value not followed';
}

const logsOf = ({ log }: Json): Json[] => (log === undefined ? [] : [log, ...(log.more ?? [])]);

export const CHECKS_OF_BUILDING: Readonly<Record<string, Asked>> = {
  'recipe-in-force': (carried) => ({
    found: usesOf(carried).flatMap(({ build, recipe: { digest, body }, units }) => [
      ...(moment(body.effectiveFrom) > moment(build.closedAt) ? [found('not yet effective', units, C)] : []),
      ...(body.machine === build.machine ? [] : [found('for another machine', units, C)]),
      ...unapproved(approvalOf(carried, digest, body.approval), {
        ...{ before: build.closedAt, rule: 'approved after the build', units },
      }),
    ]),
  }),

  'recipe-inside-envelope': (carried) => {
    const covered = usesOf(carried).flatMap((use) => {
      const validation = validationOf(carried, use);
      return validation ? [{ use, envelope: validation.body.envelope as Json[] }] : [];
    });
    return {
      found: covered.flatMap(({ use, envelope }) =>
        use.recipe.body.zones.flatMap((zone: Json) =>
          zone.steps
            .filter(({ step }: Json) => use.does(step))
            .flatMap(({ step, parameters }: Json) =>
              parameters.flatMap(({ parameter, set, ucum }: Json): Found[] => {
                const fitting = envelope.filter((one) => one.step === step && one.parameter === parameter);
                const range =
                  fitting.find((one) => one.zoneClass === zone.class) ?? fitting.find((one) => !one.zoneClass);
                if (range === undefined) return [found('setting not validated', use.units, C)];
                const value = converted(set, ucum, range.ucum);
                if (value === undefined) return [found('units do not compare', use.units, C)];
                const isInside = compare(value, range.min) >= 0 && compare(value, range.max) <= 0;
                return isInside ? [] : [found('outside the validated envelope', use.units, { ...FAILS, ...C })];
              }),
            ),
        ),
      ),
      applies: covered.length > 0,
    };
  },

  'process-validated': (carried) => {
    const uses = usesOf(carried);
    return {
      found: uses.flatMap((use): Found[] => {
        const { build, units } = use;
        const validation = validationOf(carried, use);
        if (validation === undefined) return [found('no process validation', units, C)];
        const { digest, body } = validation;
        const closed = moment(build.closedAt);
        const isValid = closed >= moment(body.validFrom) && closed <= moment(body.validUntil);
        const about = { before: build.closedAt, rule: 'approved after the build', units };
        return [
          ...unapproved(approvalOf(carried, digest, body.approval), about, C),
          ...(isValid ? [] : [found('not valid on the build date', units, C)]),
        ];
      }),
      applies: uses.length > 0,
    };
  },

  'machines-maintained': (carried) => ({
    found: carried.builds.flatMap((build) =>
      ['maintenance', 'leak test', 'power check'].flatMap((what): Found[] => {
        const units = implantsOfBuild(carried, build.build);
        const closed = moment(build.closedAt);
        const [latest] = (carried.pinned('machine', build.machine).body.upkeep ?? [])
          .filter((one: Json) => one.what === what && moment(one.at) <= closed)
          .sort((a: Json, b: Json) => moment(b.at) - moment(a.at));
        if (latest === undefined) return [found(`no ${what} on record`, units, C)];
        if (latest.result === 'failed') return [found(`${what} failed`, units, C)];
        return closed > moment(latest.due) ? [found(`${what} overdue`, units, C)] : [];
      }),
    ),
  }),

  'operators-qualified': (carried) => ({
    found: carried.builds.flatMap(({ build, machine, operator, closedAt }) => {
      const operation = carried.pinned('machine', machine)?.body.operation ?? machine;
      return unqualified(carried, operator, operation, closedAt, implantsOfBuild(carried, build));
    }),
  }),

  'coupons-planned': (carried) => {
    const all = pairs(carried);
    return {
      found: all.flatMap((pair) => pairTroubles(carried, pair).map((rule) => found(rule, [pair.implant.serial], C))),
      applies: all.length > 0,
    };
  },

  'zone-classes-covered': (carried) => {
    const { characteristics, unmeasured = [] } = carried.specification.body;
    const measured = characteristics.flatMap((item: Json) => item.zoneClass ?? []);
    const told = [...measured, ...unmeasured.map((one: Json) => one.zoneClass)];
    const classes = carried.implants.flatMap(({ serial, recipe, zones }) =>
      zones.flatMap(({ recipeZone }: Json) => {
        const of = zoneClass(carried, recipe, recipeZone);
        return of === undefined ? [] : [{ of, serial }];
      }),
    );
    const open = measured.length === 0 ? [] : unique(classes.map(({ of }) => of)).filter((of) => !told.includes(of));
    return {
      found: open.map((of) =>
        found(
          'nothing measured in a zone class',
          unique(classes.filter((one) => one.of === of).map(({ serial }) => serial)),
          D,
        ),
      ),
      applies: measured.length > 0 && classes.length > 0,
    };
  },

  'log-complete': (carried) => {
    const { logs } = carried.dossier;
    const seen = logs.flatMap((log: Json, index: number) => {
      const before = logs.slice(0, index).find((one: Json) => one.textSha256 === log.textSha256);
      return before === undefined || before.build === log.build ? [] : [[before.build, log.build]];
    });
    return {
      found: [
        ...carried.builds
          .filter(({ build }) => !carried.has(`log-${build}.json`))
          .map(({ build }) => found('no log', implantsOfBuild(carried, build))),
        ...seen.map((builds: string[]) =>
          found(
            'one log for two builds',
            builds.flatMap((build) => implantsOfBuild(carried, build)),
          ),
        ),
        ...acting(
          carried,
          logFindings(carried).filter((one) => !isOfProcess(one)),
        ),
      ],
    };
  },

  'log-findings-decided': (carried) => ({ found: acting(carried, logFindings(carried).filter(isOfProcess)) }),

  'settings-followed': (carried) => {
    const all = settings(carried);
    const groups = grouped(
      all.filter(({ rule }) => rule !== undefined),
      ({ key, rule }) => `${key}\n${rule}`,
    );
    return {
      found: [...groups.values()].map((group) =>
        found(group[0]!.rule!, unique(group.flatMap(({ units }) => units)), D),
      ),
      applies: all.some(({ isLogged }) => isLogged),
    };
  },

  'log-sensors-calibrated': (carried) => {
    const sensors = carried.builds.flatMap((build) => {
      const named = logsOf(build).flatMap(({ channels }) =>
        channels.flatMap(({ instrument }: Json) => instrument ?? []),
      );
      return unique(named as string[]).map((instrument) => ({ build, instrument }));
    });
    const ofPlaces = staysOfPlaces(carried).flatMap(({ place, stays }): Json[] =>
      stays.length === 0
        ? []
        : unique(place.instruments.map(({ instrument }: Json) => instrument as string)).map((instrument) => ({
            instrument,
            stays,
          })),
    );
    const inPlaces = ofPlaces.flatMap(({ instrument, stays }): Found[] => {
      const body = carried.pinned('instrument', instrument)?.body;
      return (body === undefined ? [] : stays).flatMap(({ from, to, units }: Json): Found[] => {
        const [came, left] = [from, to].map((time) => new Date(time).toISOString());
        const fault = calibrationFault(body, came!) ?? calibrationFault(body, left!);
        return fault ? [found(fault.rule, units, fault.more)] : [];
      });
    });
    return {
      found: [
        ...inPlaces,
        ...sensors.flatMap(({ build, instrument }): Found[] => {
          const body = carried.pinned('instrument', instrument)?.body;
          if (body === undefined) return [];
          const fault = calibrationFault(body, build.closedAt) ?? calibrationFault(body, build.openedAt);
          return fault ? [found(fault.rule, implantsOfBuild(carried, build.build), fault.more)] : [];
        }),
      ],
      applies: sensors.length + ofPlaces.length > 0,
    };
  },

  'coupons-represent': (carried) => {
    const tested = new Set(carried.current.map(({ specimen }) => specimen));
    const standing = carried.coupons.flatMap((coupon) =>
      carried.implants
        .filter(({ serial }) => coupon.standsFor.includes(serial))
        .map(({ serial }) => ({ coupon: coupon.coupon as string, serial: serial as string })),
    );
    const serious = logFindings(carried).filter(
      ({ level, id }) => level === 'reject' || (level === 'action' && decided(carried, id) !== 'accepted'),
    );
    const speaking = pairs(carried).filter(({ coupon }) => coupon.use !== 'spare' || tested.has(coupon.coupon));
    return {
      found: [
        ...speaking.flatMap(({ coupon, implant }): Found[] => {
          const went = ({ parts }: Json, code: string) => parts === undefined || parts.includes(code);
          const all: Json[] = carried.lot.steps ?? [];
          const nameOf = ({ step, load, at }: Json) => `${step} ${load ?? `at ${at}`}`;
          const alike = (step: Json) => all.filter((other) => nameOf(other) === nameOf(step));
          const shared = (step: Json, code: string) => alike(step).some((other) => went(other, code));
          const steps: Json[] = all
            .filter(
              (step: Json) =>
                (step.instruction === undefined || step.step === 'sterilise') &&
                !hadMoved(carried, implant.serial, step.at) &&
                shared(step, coupon.coupon) !== shared(step, implant.serial),
            )
            .filter((step, index, list) => list.findIndex((other) => nameOf(other) === nameOf(step)) === index);
          const gaps = serious.filter((finding) => {
            const made = madeIn(carried, finding.build);
            const layers = (code: string) =>
              layersTouched(
                finding,
                made.find((one) => one.code === code),
              );
            const own = layers(coupon.coupon);
            return [...layers(implant.serial)].some((layer) => !own.has(layer));
          });
          return [
            ...steps.map(({ step }) =>
              step === 'sterilise'
                ? found('not of the same sterile load', [implant.serial])
                : found('not the same step after the build', [implant.serial], C),
            ),
            ...gaps.map(() => found('outside the layers of an excursion', [implant.serial], D)),
          ];
        }),
        ...standing.flatMap(({ coupon, serial }) =>
          serious
            .filter(({ coupons, implants }) => coupons.includes(coupon) && !implants.includes(serial))
            .map(() => found('excursion of the coupon alone', [serial], D)),
        ),
      ],
      applies: standing.length > 0,
    };
  },
};

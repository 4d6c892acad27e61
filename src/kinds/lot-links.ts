import { type Declared, type LinkDraft, tie } from './kind.js';
import { logMapLinks, logsOf } from './log-files.js';
import type { BuildLog, Coupon, Implant, Lot } from './lot.js';
import { FOR_CASE } from './ties.js';

/** What a lot ties itself to. */
export function lotLinks(document: Lot): LinkDraft[] {
  const { specification } = document;
  return [
    tie('of family', 'family', document.family, 'family'),
    tie('judged by', 'specification', specification.specification, 'specification', {
      revision: specification.revision,
    }),
    tie('opened by', 'person', document.opened.by, 'opened.by'),
    ...logMapLinks(document.builds),
    ...document.builds.flatMap((build, index) => [tie('built in', 'build', build.build, `builds[${index}].build`)]),
    ...document.implants.map((implant, index) =>
      tie('consists of', 'implant', implant.serial, `implants[${index}].serial`),
    ),
    ...document.coupons.map((coupon, index) => tie('consists of', 'coupon', coupon.coupon, `coupons[${index}].coupon`)),
    ...document.steps.map((step, index) => tie('worked on by', 'person', step.by, `steps[${index}].by`)),
    ...(document.invalidTests ?? []).flatMap((test, index) => [
      tie('invalid test seen by', 'person', test.seenBy, `invalidTests[${index}].seenBy`),
      tie('invalid test decided by', 'person', test.decidedBy, `invalidTests[${index}].decidedBy`),
    ]),
    ...document.decisions.map((decision, index) =>
      tie('decision claimed by', 'person', decision.by, `decisions[${index}].by`),
    ),
  ];
}

const closureLinks = (part: Implant | Coupon, field: string): LinkDraft[] =>
  (part.alsoIn ?? []).flatMap(({ build, recipe }, index) => {
    const place = `${field}.alsoIn[${index}]`;
    return [
      tie('built in', 'build', build, `${place}.build`),
      ...(recipe === undefined ? [] : [recipeLink({ recipe }, place)]),
    ];
  });

function sensorLinks({ channels }: Pick<BuildLog, 'channels'>, field: string): LinkDraft[] {
  return channels.flatMap(({ instrument }, index) =>
    instrument === undefined
      ? []
      : [tie('logged with', 'instrument', instrument, `${field}.channels[${index}].instrument`)],
  );
}

function recipeLink(part: Pick<Implant, 'recipe'>, field: string): LinkDraft {
  return tie('built by recipe', 'recipe', part.recipe.recipe, `${field}.recipe`, { revision: part.recipe.revision });
}

/** Builds, implants and coupons: each an entry of its own, so that a trace runs through the implant. */
export function lotDeclares(document: Lot): Declared[] {
  return [
    ...document.builds.map((build, index) => {
      const field = `builds[${index}]`;
      return {
        kind: 'build',
        key: build.build,
        name: `run ${build.run} of ${build.machine}`,
        body: { lot: document.lot, ...build },
        links: [
          tie('on machine', 'machine', build.machine, `${field}.machine`),
          tie('run by', 'person', build.operator, `${field}.operator`),
          ...build.powder.map((powder, place) =>
            tie('deposited', 'powder-state', powder.state, `${field}.powder[${place}].state`, { massG: powder.massG }),
          ),
          ...(build.continues === undefined
            ? []
            : [tie('continues', 'build', build.continues.build, `${field}.continues.build`)]),
          ...build.gas.map((gas, place) => tie('under gas', 'receipt', gas.receipt, `${field}.gas[${place}].receipt`)),
          ...logsOf(build).flatMap(({ log, field: place }) => sensorLinks(log, `${field}.${place}`)),
        ],
        field,
      };
    }),
    ...document.implants.map((implant, index) => {
      const field = `implants[${index}]`;
      return {
        kind: 'implant',
        key: implant.serial,
        name: `implant for case ${implant.case}`,
        body: { lot: document.lot, ...implant },
        links: [
          tie(FOR_CASE, 'case', implant.case, `${field}.case`),
          tie('built in', 'build', implant.build, `${field}.build`),
          ...closureLinks(implant, field),
          recipeLink(implant, field),
        ],
        field,
      };
    }),
    ...document.coupons.map((coupon, index) => {
      const field = `coupons[${index}]`;
      return {
        kind: 'coupon',
        key: coupon.coupon,
        name: `coupon for ${coupon.standsFor.join(', ')}`,
        body: { lot: document.lot, ...coupon },
        links: [
          tie('built in', 'build', coupon.build, `${field}.build`),
          ...closureLinks(coupon, field),
          recipeLink(coupon, field),
          ...coupon.standsFor.map((serial, place) =>
            tie('stands for', 'implant', serial, `${field}.standsFor[${place}]`),
          ),
          ...(coupon.study
            ? [
                tie('speaks by study', 'equivalence-study', coupon.study.study, `${field}.study`, {
                  revision: coupon.study.revision,
                }),
              ]
            : []),
        ],
        field,
      };
    }),
  ];
}

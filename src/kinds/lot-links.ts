import type { Declared, LinkDraft } from './kind.js';
import { logMapLinks, logsOf } from './log-files.js';
import type { BuildLog, Coupon, Implant, Lot } from './lot.js';

/** What ties an implant to its case. */
export const FOR_CASE = 'for case';

/** What a lot ties itself to. */
export function lotLinks(document: Lot): LinkDraft[] {
  const { specification } = document;
  return [
    { name: 'of family', kind: 'family', key: document.family, field: 'family' },
    {
      name: 'judged by',
      kind: 'specification',
      key: specification.specification,
      revision: specification.revision,
      field: 'specification',
    },
    { name: 'opened by', kind: 'person', key: document.opened.by, field: 'opened.by' },
    ...logMapLinks(document.builds),
    ...document.builds.flatMap((build, index) => [
      { name: 'built in', kind: 'build', key: build.build, field: `builds[${index}].build` },
    ]),
    ...document.implants.map((implant, index) => ({
      name: 'consists of',
      kind: 'implant',
      key: implant.serial,
      field: `implants[${index}].serial`,
    })),
    ...document.coupons.map((coupon, index) => ({
      name: 'consists of',
      kind: 'coupon',
      key: coupon.coupon,
      field: `coupons[${index}].coupon`,
    })),
    ...document.steps.map((step, index) => ({
      name: `${step.step} by`,
      kind: 'person',
      key: step.by,
      field: `steps[${index}].by`,
    })),
    ...(document.invalidTests ?? []).flatMap((test, index) => [
      { name: 'invalid test seen by', kind: 'person', key: test.seenBy, field: `invalidTests[${index}].seenBy` },
      {
        name: 'invalid test decided by',
        kind: 'person',
        key: test.decidedBy,
        field: `invalidTests[${index}].decidedBy`,
      },
    ]),
    ...document.decisions.map((decision, index) => ({
      name: 'decision claimed by',
      kind: 'person',
      key: decision.by,
      field: `decisions[${index}].by`,
    })),
  ];
}

const closureLinks = (part: Implant | Coupon, field: string): LinkDraft[] =>
  (part.alsoIn ?? []).flatMap(({ build, recipe }, index) => {
    const place = `${field}.alsoIn[${index}]`;
    return [
      { name: 'built in', kind: 'build', key: build, field: `${place}.build` },
      ...(recipe === undefined ? [] : [recipeLink({ recipe }, place)]),
    ];
  });

function sensorLinks({ channels }: Pick<BuildLog, 'channels'>, field: string): LinkDraft[] {
  return channels.flatMap(({ instrument }, index) =>
    instrument === undefined
      ? []
      : [{ name: 'logged with', kind: 'instrument', key: instrument, field: `${field}.channels[${index}].instrument` }],
  );
}

function recipeLink(part: Pick<Implant, 'recipe'>, field: string): LinkDraft {
  return {
    name: 'built by recipe',
    kind: 'recipe',
    key: part.recipe.recipe,
    revision: part.recipe.revision,
    field: `${field}.recipe`,
  };
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
          { name: 'on machine', kind: 'machine', key: build.machine, field: `${field}.machine` },
          { name: 'run by', kind: 'person', key: build.operator, field: `${field}.operator` },
          ...build.powder.map((powder, place) => ({
            name: 'deposited',
            kind: 'powder-state',
            key: powder.state,
            massG: powder.massG,
            field: `${field}.powder[${place}].state`,
          })),
          ...(build.continues === undefined
            ? []
            : [{ name: 'continues', kind: 'build', key: build.continues.build, field: `${field}.continues.build` }]),
          ...build.gas.map((gas, place) => ({
            name: 'under gas',
            kind: 'receipt',
            key: gas.receipt,
            field: `${field}.gas[${place}].receipt`,
          })),
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
          { name: FOR_CASE, kind: 'case', key: implant.case, field: `${field}.case` },
          { name: 'built in', kind: 'build', key: implant.build, field: `${field}.build` },
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
          { name: 'built in', kind: 'build', key: coupon.build, field: `${field}.build` },
          ...closureLinks(coupon, field),
          recipeLink(coupon, field),
          ...(coupon.study
            ? [
                {
                  name: 'speaks by study',
                  kind: 'equivalence-study',
                  key: coupon.study.study,
                  revision: coupon.study.revision,
                  field: `${field}.study`,
                },
              ]
            : []),
        ],
        field,
      };
    }),
  ];
}

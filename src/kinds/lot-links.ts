import { amountOf } from './amount.js';
import { type Declared, type LinkDraft, tie } from './kind.js';
import { logMapLinks, logsOf } from './log-files.js';
import type { Build, BuildLog, Coupon, Implant, Lot } from './lot.js';
import type { LotStep } from './lot-after-build.js';
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
    // What of it the units rest on is gathered for them alone, not the whole of it.
    ...(document.splitFrom === undefined
      ? []
      : [tie('split from', 'lot', document.splitFrom, 'splitFrom', { aside: true })]),
    ...logMapLinks(document.builds),
    ...document.builds.flatMap((build, index) => [tie('built in', 'build', build.build, `builds[${index}].build`)]),
    ...document.implants.map((implant, index) =>
      tie('consists of', 'implant', implant.serial, `implants[${index}].serial`),
    ),
    ...document.coupons.map((coupon, index) => tie('consists of', 'coupon', coupon.coupon, `coupons[${index}].coupon`)),
    ...document.steps.flatMap(stepLinks),
    ...(document.fates ?? []).map((fate, index) => tie('fate recorded by', 'person', fate.by, `fates[${index}].by`)),
    ...(document.labels?.inspected
      ? [tie('labels inspected by', 'person', document.labels.inspected.by, 'labels.inspected.by')]
      : []),
    ...(document.invalidTests ?? []).flatMap((test, index) => [
      tie('invalid test seen by', 'person', test.seenBy, `invalidTests[${index}].seenBy`),
      tie('invalid test decided by', 'person', test.decidedBy, `invalidTests[${index}].decidedBy`),
    ]),
    ...document.decisions.map((decision, index) =>
      tie('decision claimed by', 'person', decision.by, `decisions[${index}].by`),
    ),
  ];
}

const stepLinks = ({ by, load, instruction }: LotStep, index: number): LinkDraft[] => [
  tie('worked on by', 'person', by, `steps[${index}].by`),
  ...(load === undefined ? [] : [tie('in load', 'process-load', load, `steps[${index}].load`)]),
  ...(instruction === undefined
    ? []
    : [
        tie('by rework instruction', 'rework-instruction', instruction.instruction, `steps[${index}].instruction`, {
          revision: instruction.revision,
        }),
      ]),
];

/** Ties of a part to what its shape was scanned with, and by whom. */
const scanLinks = (document: Lot, specimen: string): LinkDraft[] =>
  (document.scans ?? []).flatMap((scan, index) =>
    scan.specimen === specimen
      ? [
          tie('scanned with', 'instrument', scan.instrument, `scans[${index}].instrument`),
          tie('scanned by', 'person', scan.by, `scans[${index}].by`),
        ]
      : [],
  );

/** Powder, gas and everything else that went into a build. */
function inputLinks(build: Build, field: string): LinkDraft[] {
  const { powder, gas, consumables = [], changeover, lineClearance } = build;
  return [
    ...powder.flatMap(({ state, chargedG, recoveredInto }, place) => [
      tie('deposited', 'powder-state', state, `${field}.powder[${place}].state`, { massG: chargedG }),
      // What became of the rest tells nothing of this lot.
      ...(recoveredInto === undefined
        ? []
        : [
            tie('recovered into', 'powder-state', recoveredInto, `${field}.powder[${place}].recoveredInto`, {
              aside: true,
            }),
          ]),
    ]),
    ...gas.map(({ receipt, quantity }, place) =>
      tie('under gas', 'receipt', receipt, `${field}.gas[${place}].receipt`, amountOf(quantity)),
    ),
    ...gas.flatMap(({ bottle }, place) =>
      bottle === undefined ? [] : [tie('with consumable', 'consumable', bottle, `${field}.gas[${place}].bottle`)],
    ),
    ...consumables.map(({ consumable, uses = 1 }, place) =>
      tie('with consumable', 'consumable', consumable, `${field}.consumables[${place}].consumable`, { count: uses }),
    ),
    ...(changeover === undefined ? [] : [tie('after changeover', 'changeover', changeover, `${field}.changeover`)]),
    ...(lineClearance === undefined
      ? []
      : [tie('cleared by', 'person', lineClearance.by, `${field}.lineClearance.by`)]),
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

const builtOnLinks = ({ builtOn }: Pick<Implant, 'builtOn'>, field: string): LinkDraft[] =>
  builtOn === undefined ? [] : [tie('built on', 'stock-part', builtOn, `${field}.builtOn`)];

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
          ...inputLinks(build, field),
          ...(build.continues === undefined
            ? []
            : [tie('continues', 'build', build.continues.build, `${field}.continues.build`)]),
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
          ...builtOnLinks(implant, field),
          ...scanLinks(document, implant.serial),
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
          ...builtOnLinks(coupon, field),
          ...scanLinks(document, coupon.coupon),
        ],
        field,
      };
    }),
  ];
}

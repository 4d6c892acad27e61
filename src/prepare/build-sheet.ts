import { digestOf } from '../dossier/canonical.js';
import { revisionKey } from '../dossier/facts.js';
import { tradeUnit } from '../dossier/unit-text.js';
import type { RecordPage } from '../pdf/page.js';
import { renderTwice } from '../pdf/render.js';
import { BUILD_SHEET } from '../report/phrases/build-sheet.js';
import { PAGE_WORDS } from '../report/phrases/page-words.js';
import { sideText, stepText } from '../report/phrases/trade-codes.js';
import { lotText } from './lot-text.js';
import type { PreparedLot } from './prepared-lot.js';

/** Room for writing by hand. */
const ROOM = '';

/** What is built from what, by which settings, with room for what is written beside the machine. */
export function renderBuildSheet(
  lot: PreparedLot,
  { program, printedAt }: { readonly program: string; readonly printedAt: string },
): Promise<Buffer> {
  const { names, basis } = lot;
  const identity = {
    number: `BUILD-${names.lot}`,
    revision: '1',
    title: BUILD_SHEET.title(names.lot),
    subject: BUILD_SHEET.subject(names.lot, basis.case.key),
    author: basis.family.manufacturer?.name ?? basis.family.title,
    digest: digestOf(lotText(lot)),
    printedAt: new Date(printedAt),
    program,
    state: 'not-final' as const,
    words: PAGE_WORDS,
  };
  return renderTwice(identity, (page) => drawSheet(page, lot));
}

function drawSheet(page: RecordPage, lot: PreparedLot): void {
  const { names, basis } = lot;
  const { design, recipe, specification } = basis;
  page.title(BUILD_SHEET.title(names.lot), BUILD_SHEET.subtitle);
  page.facts([
    [BUILD_SHEET.case, basis.case.key],
    [BUILD_SHEET.place, BUILD_SHEET.placeOf(design.body.anatomicalSite, sideText(design.body.side))],
    [BUILD_SHEET.design, BUILD_SHEET.designOf(design.revision, design.body.title)],
    [BUILD_SHEET.marking, design.body.marking],
    [BUILD_SHEET.model, basis.model],
    [BUILD_SHEET.build, BUILD_SHEET.buildOf(names.build, names.run)],
    [BUILD_SHEET.machine, recipe.body.machine],
    [BUILD_SHEET.recipe, `${revisionKey(recipe.key, recipe.revision)}, ${recipe.body.title}`],
    [
      BUILD_SHEET.specification,
      `${revisionKey(specification.key, specification.revision)}, ${specification.body.title}`,
    ],
  ]);
  drawParts(page, lot);
  drawSettings(page, lot);
  page.table({
    caption: BUILD_SHEET.during,
    columns: [
      { head: BUILD_SHEET.during, width: 4 },
      { head: BUILD_SHEET.value, width: 8 },
    ],
    rows: BUILD_SHEET.times.map((what) => [what, ROOM]),
  });
  page.table({
    caption: BUILD_SHEET.after,
    columns: [
      { head: BUILD_SHEET.step, width: 4 },
      { head: BUILD_SHEET.byAndAt, width: 8 },
    ],
    rows: lot.steps.map((step) => [stepText(step), ROOM]),
  });
  drawTests(page, lot);
}

function drawParts(page: RecordPage, { implants, coupons }: PreparedLot): void {
  const parts = [
    ...implants.map(({ serial, zones }) => ({ code: serial, what: BUILD_SHEET.implant, zones })),
    ...coupons.map(({ coupon, zones }) => ({ code: coupon, what: BUILD_SHEET.coupon, zones })),
  ];
  page.table({
    caption: BUILD_SHEET.parts,
    columns: [
      { head: BUILD_SHEET.part, width: 3 },
      { head: BUILD_SHEET.what, width: 1.6 },
      { head: BUILD_SHEET.zone, width: 3.4 },
      { head: BUILD_SHEET.recipeZone, width: 1.8 },
      { head: BUILD_SHEET.layers, width: 1.6 },
      { head: BUILD_SHEET.position, width: 1.6 },
    ],
    rows: parts.flatMap(({ code, what, zones }) =>
      zones.map(({ zone, recipeZone, layers }) => [
        code,
        what,
        zone,
        recipeZone,
        BUILD_SHEET.layersOf(layers.from, layers.to),
        ROOM,
      ]),
    ),
  });
}

function drawSettings(page: RecordPage, { basis: { recipe } }: PreparedLot): void {
  page.table({
    caption: BUILD_SHEET.settings(revisionKey(recipe.key, recipe.revision)),
    columns: [
      { head: BUILD_SHEET.recipeZone, width: 2 },
      { head: BUILD_SHEET.step, width: 3 },
      { head: BUILD_SHEET.parameter, width: 3 },
      { head: BUILD_SHEET.set, width: 1.4, align: 'decimal' },
      { head: BUILD_SHEET.unit, width: 1.2 },
      { head: BUILD_SHEET.seen, width: 1.6 },
    ],
    rows: recipe.body.zones.flatMap(({ zone, steps }) =>
      steps.flatMap(({ step, everyLayers, parameters }) =>
        parameters.map(({ parameter, set, ucum }) => [
          zone,
          BUILD_SHEET.stepOf(step, everyLayers),
          parameter,
          set,
          tradeUnit(ucum),
          ROOM,
        ]),
      ),
    ),
  });
}

function drawTests(page: RecordPage, { values }: PreparedLot): void {
  const rows = new Map<string, { readonly cells: readonly string[]; values: number }>();
  for (const { specimen, item } of values) {
    const key = `${specimen} ${item.characteristic}`;
    const known = rows.get(key);
    if (known) known.values += 1;
    else
      rows.set(key, {
        cells: [item.title, specimen, revisionKey(item.method.method, item.method.revision)],
        values: 1,
      });
  }
  page.table({
    caption: BUILD_SHEET.tests,
    columns: [
      { head: BUILD_SHEET.characteristic, width: 4 },
      { head: BUILD_SHEET.on, width: 3 },
      { head: BUILD_SHEET.method, width: 2.4 },
      { head: BUILD_SHEET.values, width: 1.4 },
    ],
    rows: [...rows.values()].map(({ cells, values: count }) => [...cells, String(count)]),
  });
}

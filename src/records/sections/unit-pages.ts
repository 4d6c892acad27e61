import type { UnitResult } from '../../assessment/assessment.js';
import { channelOf } from '../../assessment/logged-settings.js';
import { zoneLogs } from '../../assessment/zone-logs.js';
import { type Facts, revisionKey } from '../../dossier/facts.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import { closuresOf } from '../../kinds/build-chain.js';
import type { Implant } from '../../kinds/lot.js';
import type { Recipe } from '../../kinds/recipe.js';
import type { RecordPage } from '../../pdf/page.js';
import { unitAnchor } from '../../report/anchors.js';
import { reasonsInWords } from '../../report/assessment-words.js';
import { metalRows } from '../../report/metal-rows.js';
import { besideSpread } from '../../report/phrases/rounded.js';
import { sideText, stepText } from '../../report/phrases/trade-codes.js';
import { UNIT_PAGE } from '../../report/phrases/unit-page.js';
import { type StockMetal, stockMetals } from '../../report/stock-metal.js';
import { unitFigure } from '../../report/unit-figure.js';
import { type RecordView, shownUnits } from '../record-view.js';
import { decisionText } from './cover.js';
import { settingsText } from './post-process.js';

/** One page for each implant: what it is of, how it was made, its values, and the coupons that speak for it. */
export function drawUnitPages(pdf: RecordPage, view: RecordView): void {
  const logs = zoneLogs(view.facts);
  for (const unit of shownUnits(view)) drawUnit(pdf, view, unit, logs);
}

function drawUnit(pdf: RecordPage, view: RecordView, unit: UnitResult, logs: ReturnType<typeof zoneLogs>): void {
  const { facts, assessment } = view;
  const { serial, verdict } = unit;
  const implant = facts.lot.body.implants.find((item) => item.serial === serial)!;
  pdf.heading(1, UNIT_PAGE.title(serial, verdict), { newPage: true, anchor: unitAnchor(serial) });
  const against = [...new Set(reasonsInWords(assessment.checks, unit.why).map(({ says }) => says))];
  pdf.facts(
    [
      [UNIT_PAGE.what, caseText(facts, implant)],
      [UNIT_PAGE.made, madeText(implant)],
      [UNIT_PAGE.decision, decisionText(view, serial)],
      [UNIT_PAGE.against, against.join(' ') || UNIT_PAGE.nothing],
    ],
    { small: true },
  );
  drawMetal(pdf, facts, implant);
  drawZones(pdf, facts, implant, logs);
  const figure = unitFigure(facts, assessment, serial);
  if (figure) {
    pdf.heading(2, UNIT_PAGE.results, { listed: false, keepPt: figure.scene.height + 40 });
    pdf.figure(figure);
  }
  drawCoupons(pdf, facts, serial);
}

function caseText({ cases }: Facts, implant: Implant): string {
  const found = cases.get(implant.case)?.body;
  if (!found) return UNIT_PAGE.caseWithheld(implant.case);
  return UNIT_PAGE.caseOf(implant.case, found.anatomicalSite, sideText(found.side));
}

function madeText(implant: Implant): string {
  const place = [implant.position, implant.orientation].filter((part) => part !== undefined).join(', ');
  const recipe = revisionKey(implant.recipe.recipe, implant.recipe.revision);
  return UNIT_PAGE.madeIn(closuresOf(implant).join(', '), place, recipe, implant.designIteration);
}

function drawMetal(pdf: RecordPage, facts: Facts, implant: Implant): void {
  const rows = metalRows(facts, implant).map((row) => [
    row.heats.join(' + ') || UNIT_PAGE.noHeat,
    row.receipts.join(', '),
    row.build,
    row.percent,
    facts.suppliers.get(row.supplier)?.body.title ?? row.supplier,
    row.receipts.map((code) => certificateText(facts, code)).join('; '),
  ]);
  pdf.table({
    caption: UNIT_PAGE.metal,
    columns: [
      { head: UNIT_PAGE.heats, width: 1.8 },
      { head: UNIT_PAGE.receipt, width: 1.6 },
      { head: UNIT_PAGE.build, width: 2 },
      { head: UNIT_PAGE.share, width: 1.8, align: 'decimal' },
      { head: UNIT_PAGE.supplier, width: 4 },
      { head: UNIT_PAGE.certificate, width: 4 },
    ],
    rows: [...rows, ...stockMetals(facts, implant).map((metal) => stockCells(facts, metal))],
    empty: UNIT_PAGE.noMetal,
  });
}

/** The stock on which it was built, below the heats of what was built on it; and below that what this was built on. */
function stockCells(facts: Facts, { stockPart, heats, receipts, certificate, was }: StockMetal): string[] {
  const suppliers = [...new Set(heats.map(({ supplier }) => facts.suppliers.get(supplier)?.body.title ?? supplier))];
  const paper = certificate === undefined ? '' : paperText(certificate.number, certificate.expiry);
  return [
    heats.map(({ heat }) => heat).join(' + ') || UNIT_PAGE.noHeat,
    receipts.join(', '),
    UNIT_PAGE.stockPart(stockPart),
    UNIT_PAGE.notWeighed,
    suppliers.join(', '),
    was === undefined ? paper : UNIT_PAGE.wasImplant(was.implant, was.lot),
  ];
}

function certificateText(facts: Facts, code: string): string {
  const { certificate, expiry } = facts.receipts.get(code)!.body;
  return paperText(certificate?.number, expiry);
}

const paperText = (certificate: string | undefined, expiry: string | undefined): string =>
  UNIT_PAGE.certificateOf(certificate ?? UNIT_PAGE.noCertificate, expiry ?? UNIT_PAGE.noExpiry);

function drawZones(pdf: RecordPage, facts: Facts, implant: Implant, logs: ReturnType<typeof zoneLogs>): void {
  const recipe = facts.recipes.get(revisionKey(implant.recipe.recipe, implant.recipe.revision))?.body;
  pdf.table({
    caption: UNIT_PAGE.zones,
    columns: [
      { head: UNIT_PAGE.zone, width: 3.2 },
      { head: UNIT_PAGE.step, width: 1.6 },
      { head: UNIT_PAGE.set, width: 5.2 },
      { head: UNIT_PAGE.logged, width: 5.6 },
    ],
    rows: implant.zones.flatMap(({ zone, recipeZone, layers }) =>
      (recipe?.zones.find((item) => item.zone === recipeZone)?.steps ?? []).map((step) => [
        UNIT_PAGE.zoneOf(zone, recipeZone, layers.from, layers.to),
        stepText(step.step),
        settingsText(step),
        closuresOf(implant)
          .flatMap((build) => logs(build, zone, step.step))
          .filter(({ channel }) => asked(step).has(channel))
          .map(({ channel, ucum, mean, min, max }) =>
            UNIT_PAGE.loggedOf(
              channel,
              max === min ? String(min) : besideSpread(mean, max - min),
              String(min),
              String(max),
              tradeUnit(ucum),
            ),
          )
          .join('; ') || UNIT_PAGE.nothingLogged,
      ]),
    ),
    empty: UNIT_PAGE.nothingLogged,
  });
}

/** Channels that the recipe ties to a step: by a window, or as what shows a setting. */
const asked = ({ windows, parameters }: Recipe['zones'][number]['steps'][number]): ReadonlySet<string> =>
  new Set([...windows.map(({ channel }) => channel), ...parameters.map(channelOf)]);

function drawCoupons(pdf: RecordPage, facts: Facts, serial: string): void {
  pdf.table({
    caption: UNIT_PAGE.coupons,
    columns: [
      { head: UNIT_PAGE.coupon, width: 2 },
      { head: UNIT_PAGE.couponZones, width: 2.4 },
      { head: UNIT_PAGE.study, width: 6 },
      { head: UNIT_PAGE.rationale, width: 4 },
    ],
    rows: facts.lot.body.coupons
      .filter(({ standsFor }) => standsFor.includes(serial))
      .map(({ coupon, build, zones, study, rationale }) => {
        const found = study && facts.studies.get(revisionKey(study.study, study.revision))?.body;
        return [
          UNIT_PAGE.couponOf(coupon, build),
          zones.map(({ recipeZone, layers }) => UNIT_PAGE.couponZone(recipeZone, layers.from, layers.to)).join('; '),
          study
            ? UNIT_PAGE.studyOf(study.study, study.revision, found?.conclusion ?? UNIT_PAGE.conclusionMissing)
            : UNIT_PAGE.noStudy,
          rationale,
        ];
      }),
    empty: UNIT_PAGE.noCoupon,
  });
}

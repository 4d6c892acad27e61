import { humanReadable } from '../../base/element-strings/element-string.js';
import { AppError } from '../../base/errors.js';
import { SceneBuilder } from '../../base/scene.js';
import { timeText } from '../../dossier/time-text.js';
import type { Implant } from '../../kinds/lot.js';
import type { RecordPage } from '../../pdf/page.js';
import { renderTwice } from '../../pdf/render.js';
import { textMetric } from '../../pdf/shaping.js';
import { reasonWords } from '../../report/assessment-words.js';
import { verdictText } from '../../report/phrases/codes.js';
import { PAPER } from '../../report/phrases/paper.js';
import { sideText } from '../../report/phrases/trade-codes.js';
import { UNIT_SHEET } from '../../report/phrases/unit-sheet.js';
import type { Cautions } from '../../report/record-template.js';
import { dataMatrix, drawModules, widthOf } from './data-matrix.js';
import { decisionText, implantOf, isReleased, type PaperContent, paperIdentity } from './paper.js';
import { codeOf } from './unit-code.js';

/** Larger than on a label: read from a sheet on a table. 0.8 mm a module. */
const MODULE_PT = 2.268;

/**
 * One page for the theatre: which unit this is, for which case and side, and what must be known before it is used. It
 * names one case only.
 * @throws NotFoundError without such an implant, AppError BAD_INPUT when its facts do not fit on one page.
 */
export async function renderUnitSheet(content: PaperContent, serial: string, cautions: Cautions): Promise<Buffer> {
  const implant = implantOf(content, serial);
  const identity = paperIdentity(content, {
    number: `UNIT-${serial}`,
    title: UNIT_SHEET.title(serial),
    serials: [serial],
    mayGo: isReleased,
  });
  const ends = 'sheet-end';
  return renderTwice(identity, (page) => {
    drawSheet(page, content, implant, cautions);
    page.anchor(ends);
    if (Number(page.pageOf(ends)) > 1) {
      throw new AppError('BAD_INPUT', `what is known of ${serial} does not fit on one page; shorten names and texts`, {
        serial,
      });
    }
  });
}

function drawSheet(page: RecordPage, content: PaperContent, implant: Implant, cautions: Cautions): void {
  const { facts } = content;
  const { family, lot } = facts;
  const released = isReleased(content, implant.serial);
  const found = facts.cases.get(implant.case)?.body;
  page.title(implant.serial, [
    { text: released ? UNIT_SHEET.released : UNIT_SHEET.notReleased, style: 'bold' },
    UNIT_SHEET.decision(decisionText(content, implant.serial)),
  ]);
  drawCode(page, content, implant);
  page.facts([
    [UNIT_SHEET.case, implant.case],
    [UNIT_SHEET.place, found ? UNIT_SHEET.placeOf(found.anatomicalSite, sideText(found.side)) : UNIT_SHEET.withheld],
    [UNIT_SHEET.design, designText(implant, found?.designIteration)],
    [UNIT_SHEET.prescriber, found ? PAPER.prescriber(found.prescriber) : UNIT_SHEET.withheld],
    [UNIT_SHEET.what, UNIT_SHEET.whatIs(family.body.title, family.body.alloy)],
    [UNIT_SHEET.lotAndBuild, UNIT_SHEET.lotAndBuildOf(lot.body.lot, implant.build)],
    [UNIT_SHEET.sterileState, family.body.sterile === 'sterile' ? UNIT_SHEET.sterile : UNIT_SHEET.notSterile],
    [UNIT_SHEET.lifetime, UNIT_SHEET.lifetimeOf(family.body.lifetime.years, family.body.lifetime.basis)],
    [UNIT_SHEET.maker, makerText(content)],
  ]);
  drawTests(page, content, implant);
  page.callout({
    kind: 'caution',
    title: UNIT_SHEET.beforeUse,
    items: [
      cautions.clinical,
      cautions.bench,
      cautions.metals,
      cautions.sterilisation,
      cautions.health,
      cautions.copies,
    ],
  });
  page.paragraph(
    UNIT_SHEET.printed(
      timeText(content.printedAt),
      content.printedBy,
      content.program,
      content.dossierSha256.slice(0, 12),
    ),
    { small: true },
  );
}

function designText({ designIteration }: Implant, askedFor: number | undefined): string {
  if (askedFor === undefined) return String(designIteration);
  return askedFor === designIteration
    ? UNIT_SHEET.asAskedFor(designIteration)
    : UNIT_SHEET.otherThanAskedFor(designIteration, askedFor);
}

function makerText({ facts }: PaperContent): string {
  const { manufacturer } = facts.family.body;
  return manufacturer ? PAPER.maker(manufacturer) : UNIT_SHEET.noMaker;
}

function drawCode(page: RecordPage, content: PaperContent, implant: Implant): void {
  const code = codeOf(content.facts, implant);
  const builder = new SceneBuilder(textMetric);
  const modules = dataMatrix(code);
  const size = widthOf(modules, MODULE_PT);
  drawModules(builder, modules, 0, 0, MODULE_PT);
  const text = typeof code === 'string' ? code : humanReadable(code);
  page.figure({
    scene: builder.finish(size, size),
    alt: UNIT_SHEET.codeAlt(text),
    caption: typeof code === 'string' ? UNIT_SHEET.codeOfSerial(text) : UNIT_SHEET.udi(text),
  });
}

/** How many characteristics conform, and which do not. */
function drawTests(page: RecordPage, { units, checks, facts }: PaperContent, { serial }: Implant): void {
  const unit = units.find((item) => item.serial === serial);
  const count = facts.specification.body.characteristics.length;
  const reasons = unit?.why ?? [];
  page.facts([
    [UNIT_SHEET.outcome, unit ? verdictText(unit.verdict) : UNIT_SHEET.notAssessed],
    [UNIT_SHEET.characteristics, String(count)],
    [
      UNIT_SHEET.against,
      reasons.length === 0
        ? UNIT_SHEET.nothingAgainst
        : UNIT_SHEET.againstIt(reasons.length, reasonWords(checks)(reasons[0]!).says),
    ],
  ]);
}

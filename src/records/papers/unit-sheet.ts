import { AppError } from '../../base/errors.js';
import { SceneBuilder } from '../../base/scene.js';
import { timeText } from '../../dossier/time-text.js';
import type { Implant } from '../../kinds/lot.js';
import type { RecordPage } from '../../pdf/page.js';
import { renderTwice } from '../../pdf/render.js';
import { textMetric } from '../../pdf/shaping.js';
import { reasonWords } from '../../report/assessment-words.js';
import type { Cautions } from '../../report/record-template.js';
import { dataMatrix, drawModules, widthOf } from './data-matrix.js';
import { humanReadable } from './gs1.js';
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
    title: `Unit sheet of ${serial}`,
    serials: [serial],
  });
  const ends = 'the end of the sheet';
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
    { text: released ? 'Released. ' : 'NOT RELEASED: not to be used. ', style: 'bold' },
    `${decisionText(content, implant.serial)}.`,
  ]);
  drawCode(page, content, implant);
  page.facts([
    ['Case', implant.case],
    ['Site and side', found ? `${found.anatomicalSite}, ${found.side}` : 'withheld'],
    ['Design iteration', designText(implant, found?.designIteration)],
    ['Prescriber', found ? `${found.prescriber.name}, ${found.prescriber.institution}` : 'withheld'],
    ['What it is', `${family.body.title}, resorbable ${family.body.alloy}`],
    ['Lot and build', `${lot.body.lot}, ${implant.build}`],
    ['Sterile state', family.body.sterile === 'sterile' ? 'sterile only when the pack says so' : 'not sterile'],
    ['Device lifetime', `${family.body.lifetime.years} years: ${family.body.lifetime.basis}`],
    ['Maker', makerText(content)],
  ]);
  drawTests(page, content, implant);
  page.callout({
    kind: 'caution',
    title: 'Before use',
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
    `Printed ${timeText(content.printedAt)} by ${content.printedBy}, ${content.program}, from the lot file ${content.dossierSha256.slice(0, 12)}. The lot record has everything and can be checked offline.`,
    { small: true },
  );
}

function designText({ designIteration }: Implant, askedFor: number | undefined): string {
  if (askedFor === undefined) return String(designIteration);
  return askedFor === designIteration
    ? `${designIteration}, as asked for`
    : `built ${designIteration}, ASKED FOR ${askedFor}`;
}

function makerText({ facts }: PaperContent): string {
  const { manufacturer } = facts.family.body;
  return manufacturer ? `${manufacturer.name}, ${manufacturer.address}` : 'not stated by the family';
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
    alt: `Data Matrix code of ${text}`,
    caption: typeof code === 'string' ? `Code of the serial ${text}` : `UDI ${text}`,
  });
}

/** How many characteristics conform, and which do not. */
function drawTests(page: RecordPage, { units, checks, facts }: PaperContent, { serial }: Implant): void {
  const unit = units.find((item) => item.serial === serial);
  const count = facts.specification.body.characteristics.length;
  const reasons = unit?.why ?? [];
  page.facts([
    ['Proposed outcome', unit?.verdict ?? 'not assessed'],
    ['Characteristics asked for', String(count)],
    ['Against it', reasons.length === 0 ? 'nothing' : `${reasons.length}: ${reasonWords(checks)(reasons[0]!).says}`],
  ]);
}

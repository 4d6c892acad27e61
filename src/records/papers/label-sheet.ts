import { expiryOf } from '../../assessment/expiry.js';
import { humanReadable } from '../../base/element-strings/element-string.js';
import { CHART_WIDTH, type Scene, SceneBuilder } from '../../base/scene.js';
import type { Implant } from '../../kinds/lot.js';
import { renderTwice } from '../../pdf/render.js';
import { textMetric } from '../../pdf/shaping.js';
import { wrap } from '../../report/charts/frame.js';
import { LABEL_SHEET } from '../../report/phrases/label-sheet.js';
import { LABEL_WORDS } from '../../report/phrases/label-words.js';
import { PAPER } from '../../report/phrases/paper.js';
import { dataMatrix, drawModules, widthOf } from './data-matrix.js';
import { labelDuties } from './label-duties.js';
import { implantOf, mayBeLabelled, type PaperContent, paperIdentity } from './paper.js';
import { codeOf } from './unit-code.js';

const LABEL_WIDTH = 238;
const LABEL_GAP = CHART_WIDTH - 2 * LABEL_WIDTH;
/** 0.5 mm: readable by hand scanners and printed cleanly at 300 dots per inch. */
const MODULE_PT = 1.417;
const PAD = 8;
const GAP = 6;
const SERIAL_SIZE = 10;
const SMALL = 7;
const LINE = 9;

/** Labels of the units of a lot, two beside each other, with the words that their route asks for. */
export async function renderLabelSheet(content: PaperContent, serials: readonly string[]): Promise<Buffer> {
  const { lot } = content.facts.lot.body;
  const implants = serials.map((serial) => implantOf(content, serial));
  const identity = paperIdentity(content, {
    number: `LABELS-${lot}`,
    title: LABEL_SHEET.title(lot),
    serials,
    mayGo: mayBeLabelled,
  });
  return renderTwice(identity, (page) => {
    page.title(LABEL_SHEET.title(lot), stateText(content, serials));
    for (let at = 0; at < implants.length; at += 2) {
      const pair = implants.slice(at, at + 2);
      page.figure({
        scene: labelRow(content, pair),
        alt: pair.map((implant) => labelTexts(content, implant).join('; ')).join('. '),
        caption: pair.map(({ serial }) => LABEL_SHEET.labelOf(serial)).join(' · '),
      });
    }
    page.heading(2, LABEL_SHEET.required, { listed: false });
    page.table({
      caption: LABEL_SHEET.requiredByRoute,
      columns: [
        { head: LABEL_SHEET.words, width: 6 },
        { head: LABEL_SHEET.clause, width: 5 },
      ],
      rows: labelDuties(content.facts.family.body).map((duty) => [LABEL_WORDS[duty].words, LABEL_WORDS[duty].clause]),
    });
  });
}

function stateText(content: PaperContent, serials: readonly string[]): string {
  const open = serials.filter((serial) => !mayBeLabelled(content, serial));
  return open.length === 0 ? LABEL_SHEET.all : LABEL_SHEET.draft(open);
}

function labelRow(content: PaperContent, implants: readonly Implant[]): Scene {
  const builder = new SceneBuilder(textMetric);
  const heights = implants.map((implant, index) =>
    drawLabel(builder, content, implant, index * (LABEL_WIDTH + LABEL_GAP)),
  );
  const height = Math.max(...heights);
  implants.forEach((_, index) => {
    const left = index * (LABEL_WIDTH + LABEL_GAP);
    builder.rect(left, 0, LABEL_WIDTH, height, { stroke: '#000000', strokeWidth: 0.6 });
  });
  return builder.finish(CHART_WIDTH, height + 2);
}

/** The code at the left, what people read beside it. @returns the height that it takes. */
function drawLabel(builder: SceneBuilder, content: PaperContent, implant: Implant, left: number): number {
  const modules = dataMatrix(codeOf(content.facts, implant));
  const size = widthOf(modules, MODULE_PT);
  drawModules(builder, modules, left + PAD, PAD, MODULE_PT);
  const textLeft = left + PAD + size + GAP;
  const textWidth = LABEL_WIDTH - PAD - size - GAP - PAD;
  const [serial, ...texts] = labelTexts(content, implant);
  let y = PAD + SERIAL_SIZE;
  for (const line of wrap(builder, serial!, textWidth, SERIAL_SIZE, true)) {
    builder.text(textLeft, y, line, { size: SERIAL_SIZE, bold: true });
    y += SERIAL_SIZE + 2;
  }
  for (const line of texts.flatMap((text) => wrap(builder, text, textWidth, SMALL, false))) {
    builder.text(textLeft, y, line, { size: SMALL });
    y += LINE;
  }
  return Math.max(y, PAD + size) + PAD;
}

/** The lines of a label in the order in which they are read. */
export function labelTexts(content: PaperContent, implant: Implant): string[] {
  const { facts } = content;
  const { family } = facts;
  const { manufacturer, model, title, alloy } = family.body;
  const code = codeOf(content.facts, implant);
  const expiry = expiryOf(facts, implant);
  const found = facts.cases.get(implant.case)?.body;
  const build = facts.lot.body.builds.find((item) => item.build === implant.build)!;
  return [
    LABEL_SHEET.serial(implant.serial),
    model ?? title,
    LABEL_SHEET.lot(facts.lot.body.lot, build.openedAt.slice(0, 10)),
    ...(expiry ? [LABEL_SHEET.useBy(expiry.day)] : []),
    LABEL_SHEET.case(implant.case, found, implant.designIteration),
    ...(typeof code === 'string' ? [] : [humanReadable(code)]),
    LABEL_SHEET.metal(alloy),
    ...(manufacturer ? [PAPER.maker(manufacturer)] : []),
    ...labelDuties(family.body).map((duty) => LABEL_WORDS[duty].words),
  ];
}

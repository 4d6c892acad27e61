import { setImmediate as nextTurn } from 'node:timers/promises';
import { AppError } from '../base/errors.js';
import { DrySheet } from './dry-sheet.js';
import { Flow, NOTHING_KNOWN, type Outline } from './flow.js';
import { checkIdentity, type RecordIdentity } from './identity.js';
import { RecordPage } from './page.js';
import { PdfSheet } from './pdf-sheet.js';
import type { Sheet } from './sheet.js';

export type Draw = (page: RecordPage) => void | Promise<void>;

/** Drawing again is needed only when a longer page number moved what follows it. */
const MOST_ATTEMPTS = 4;
/** A heading that was moved stays moved, so looks end by themselves: so many are far more than a long paper needs. */
const MOST_LOOKS = 100;

/**
 * Renders a record: lays it out without drawing to learn the page numbers, then draws it with them. The same identity
 * and the same calls give the same bytes. `draw` may await between sections, which lets other work go on.
 * @throws AppError for a link that leads nowhere or two places of the same name.
 */
export async function renderTwice(identity: RecordIdentity, draw: Draw): Promise<Buffer> {
  checkIdentity(identity);
  let known = await foundWithoutDrawing(identity, draw);
  for (let attempt = 0; attempt < MOST_ATTEMPTS; attempt++) {
    const sheet = new PdfSheet(identity);
    const { found } = await pass(sheet, identity, draw, known);
    if (sameOutline(known, found)) return sheet.finish();
    known = found;
    await nextTurn();
  }
  throw new AppError('UNEXPECTED', `the record's page numbers still change after ${MOST_ATTEMPTS} attempts`);
}

/** One pass suffices for a record without contents; otherwise the second has the contents at their full length. */
async function foundWithoutDrawing(identity: RecordIdentity, draw: Draw): Promise<Outline> {
  const first = await pass(new DrySheet(), identity, draw, NOTHING_KNOWN);
  await nextTurn();
  let { found } = first;
  if (!first.askedForPages && found.pushed.size === 0) return found;
  for (let look = 1; look < MOST_LOOKS; look++) {
    const before = found;
    ({ found } = await pass(new DrySheet(), identity, draw, before));
    // Only headings that move once more ask for another look; page numbers are compared when it is drawn.
    if (found.pushed.size === before.pushed.size) break;
    await nextTurn();
  }
  return found;
}

interface PassResult {
  readonly found: Outline;
  /** Whether what was drawn depends on page numbers. */
  readonly askedForPages: boolean;
}

async function pass(sheet: Sheet, identity: RecordIdentity, draw: Draw, known: Outline): Promise<PassResult> {
  const flow = new Flow(sheet, identity, known);
  const page = new RecordPage(flow);
  await draw(page);
  page.end();
  if (flow.page === 0) flow.addPage();
  return { found: flow.found(), askedForPages: flow.askedForPages };
}

function sameOutline(a: Outline, b: Outline): boolean {
  return (
    a.pages === b.pages &&
    a.pushed.size === b.pushed.size &&
    a.headings.length === b.headings.length &&
    a.headings.every((heading, index) => sameHeading(heading, b.headings[index]!)) &&
    a.anchors.size === b.anchors.size &&
    [...a.anchors].every(([name, page]) => b.anchors.get(name) === page)
  );
}

function sameHeading(a: Outline['headings'][number], b: Outline['headings'][number]): boolean {
  return a.level === b.level && a.text === b.text && a.anchor === b.anchor && a.page === b.page;
}

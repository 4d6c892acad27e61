import type { RecordPage } from '../../pdf/page.js';
import { timelineFigures } from '../../report/lot-timeline.js';
import { LOT_TIMELINE } from '../../report/phrases/lot-timeline.js';
import { type RecordView, tellsOf } from '../record-view.js';
import { drawStanding } from './release.js';

/**
 * What happened and when it was recorded, from the prescription on, and which gates are passed. Where the picture leaves no
 * room for the gates they stand before it, on the page of the matrix.
 */
export function drawTimeline(pdf: RecordPage, view: RecordView): void {
  const isOnePage = pdf.fitsOnPage((page) => {
    drawPicture(page, view);
    drawStanding(page, view);
  });
  if (!isOnePage) drawStanding(pdf, view);
  drawPicture(pdf, view);
  if (isOnePage) drawStanding(pdf, view);
}

function drawPicture(pdf: RecordPage, view: RecordView): void {
  const { facts, enclosure } = view;
  const { signatures, states } = enclosure;
  pdf.heading(1, LOT_TIMELINE.title, { newPage: true, anchor: 'timeline' });
  for (const figure of timelineFigures({ facts, signatures, states, isTold: tellsOf(view) })) pdf.figure(figure);
}

import { renderTwice } from '../../src/pdf/render.js';
import type { RecordView } from '../../src/records/record-view.js';
import { enclose } from '../../src/records/render-record.js';
import { drawFirstPage } from '../../src/records/sections/cover.js';
import { BREVITIES } from '../../src/records/sections/cover-brevity.js';
import { leftOff } from '../../src/records/sections/cover-exceptions.js';
import { summaryOf } from '../../src/report/lot-summary.js';
import { assessedLot, contentOf } from '../support/record-content.js';
import { SAMPLE_IDENTITY } from '../support/record-sample.js';

// Not quick: it assesses a lot once a run.

/** The lot with so many implants, of which every check fails for each. */
async function viewOf(implants: number): Promise<RecordView> {
  const { view } = enclose(contentOf(await assessedLot()));
  const { facts, assessment } = view;
  const serials = Array.from({ length: implants }, (_, index) => `S-${index + 1}`);
  const [implant, unit] = [facts.lot.body.implants[0]!, assessment.units[0]!];
  const body = { ...facts.lot.body, implants: serials.map((serial) => ({ ...implant, serial })) };
  return {
    ...view,
    facts: { ...facts, lot: { ...facts.lot, body } },
    assessment: {
      ...assessment,
      units: serials.map((serial) => ({ ...unit, serial })),
      checks: assessment.checks.map((check) => ({
        ...check,
        outcome: 'fails' as const,
        findings: [
          {
            id: 'a'.repeat(64),
            rule: 'r',
            subjects: [],
            facts: {},
            effect: 'blocks release' as const,
            units: serials,
            mayBeDecided: 'no' as const,
            decision: null,
          },
        ],
      })),
    },
  };
}

/** Which of the brevities fit on a page, the fullest first. */
async function fitting(view: RecordView): Promise<boolean[]> {
  let fit: boolean[] = [];
  const summary = summaryOf(view.facts, view.assessment);
  await renderTwice(SAMPLE_IDENTITY, (page) => {
    fit = BREVITIES.map((one) => page.fitsOnPage((dry) => drawFirstPage(dry, view, summary, one)));
  });
  return fit;
}

it.each([1, 8, 60, 300])(
  'has a page 1 of one page with %i implants against which every check speaks',
  async (implants) => {
    const view = await viewOf(implants);
    const fit = await fitting(view);
    expect(fit[0]).toBe(false);
    expect(fit.at(-1)).toBe(true);
    // What it leaves off is counted, and stands in full behind it.
    const summary = summaryOf(view.facts, view.assessment);
    const of = summary.exceptions.length;
    expect(leftOff(view, summary, BREVITIES[fit.indexOf(true)]!)).toBeGreaterThan(0);
    expect(leftOff(view, summary, BREVITIES.at(-1)!)).toBe(of - 5);
  },
);

it('leaves nothing off where all of it fits', async () => {
  const { view } = enclose(contentOf(await assessedLot()));
  expect((await fitting(view))[0]).toBe(true);
});

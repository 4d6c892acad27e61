import { powderReceiptsOfBuild } from '../../assessment/materials.js';
import { timeText } from '../../dossier/time-text.js';
import type { RecordPage } from '../pdf/page.js';
import { exceptionsOf, type RecordView, verdictCounts } from '../record-view.js';

/** Page 1, in the order in which a reader needs it: decisions, signatures, exceptions, identity, cautions, proof. */
export function drawCover(pdf: RecordPage, view: RecordView): void {
  const { facts, assessment, enclosure } = view;
  const { lot, family, specification } = facts;
  const { cautions } = view.template;
  pdf.title(`Lot record ${lot.body.lot}`, [
    `Record ${enclosure.record.number}, revision ${enclosure.record.revision}. `,
    { text: 'DRAFT: nobody has signed it.', style: 'bold' },
    enclosure.demo ? ' Fictional demo data.' : '',
  ]);
  pdf.heading(2, 'Proposed outcome for each implant', { listed: false });
  pdf.paragraph(`${verdictCounts(assessment.units.map((unit) => unit.verdict))}. The program proposes; people decide.`);
  pdf.table({
    caption: 'Implants',
    columns: [
      { head: 'Serial', width: 2 },
      { head: 'Case', width: 2 },
      { head: 'Side', width: 1.3 },
      { head: 'Proposed outcome', width: 2.4 },
      { head: 'Reason', width: 7 },
    ],
    rows: assessment.units.map((unit) => {
      const implant = lot.body.implants.find((item) => item.serial === unit.serial)!;
      const [first, ...more] = unit.why;
      const rest = more.length > 0 ? ` (and ${more.length} more, see the release checks)` : '';
      return {
        cells: [
          unit.serial,
          implant.case,
          facts.cases.get(implant.case)?.body.side ?? 'withheld',
          unit.verdict,
          first ? `${first.says}${rest}` : 'Every planned value and check conforms.',
        ],
        attention: unit.verdict !== 'conforms',
      };
    }),
  });
  pdf.heading(2, 'Signatures', { listed: false });
  pdf.paragraph('None: this version takes no signatures. What files claim is printed as "claimed, not signed".');
  pdf.callout({ kind: 'exception', title: 'Exceptions', items: exceptionItems(pdf, view) });
  pdf.heading(2, 'What it is', { listed: false });
  const recipes = [...facts.recipes.keys()].join('; ');
  const iterations = [...new Set(lot.body.implants.map((implant) => implant.designIteration))].join(', ');
  const heats = new Set(
    lot.body.builds
      .flatMap((build) => powderReceiptsOfBuild(facts, build.build))
      .flatMap((code) => facts.receipts.get(code)!.body.heats),
  );
  pdf.facts([
    ['Family', `${family.body.title} (${family.body.family} revision ${family.revision}), route ${family.body.route}`],
    ['Alloy', `${family.body.alloy}, heats ${[...heats].sort().join(', ')}`],
    ['Recipe', recipes],
    ['Specification', `${specification.body.specification} revision ${specification.revision}`],
    ['Design iteration', iterations],
    ['Sterile state, expiry', sterileText(family.body.sterile)],
  ]);
  pdf.callout({
    kind: 'caution',
    title: 'Cautions',
    items: [cautions.clinical, cautions.powder, `${cautions.undecided} All cautions follow the contents.`],
  });
  pdf.heading(2, 'How to check this record', { listed: false });
  pdf.facts([
    ['Content (lot file)', [{ text: enclosure.dossierSha256, style: 'mono' }]],
    ['Enclosure', [{ text: view.enclosureSha256, style: 'mono' }]],
    ['Printed', printedText(enclosure)],
  ]);
  pdf.paragraph(
    `"npx lotwright verify FILE" compares every attachment with the enclosure and assesses the attached lot file again, offline. ${cautions.unaltered} This draft carries no seal and no signed audit trail head.`,
    { small: true },
  );
}

function printedText({ printedAt, printedOffset, printedBy, program, node }: RecordView['enclosure']): string {
  const offset = printedOffset === '+00:00' ? '' : ` (offset ${printedOffset})`;
  return `${timeText(printedAt)}${offset} by ${printedBy}, ${program}, Node.js ${node}`;
}

function sterileText(state: 'sterile' | 'non-sterile'): string {
  return state === 'sterile'
    ? 'to be sterilised; sterile load and expiry are not recorded by this version'
    : 'non-sterile; expiry is not recorded by this version';
}

function exceptionItems(pdf: RecordPage, view: RecordView) {
  const counted = exceptionsOf(view).map(({ what, count, anchor }) =>
    count === 0 ? `${what}: none` : [`${what}: ${count}, `, { text: `page ${pdf.pageOf(anchor)}`, to: anchor }],
  );
  return [...counted, 'nonconformities, concessions, rework, builds at risk, open tests: not recorded by this version'];
}

import { timeText } from '../../dossier/time-text.js';
import type { RecordPage } from '../../pdf/page.js';
import { renderTwice } from '../../pdf/render.js';
import { PAPER } from '../../report/phrases/paper.js';
import { STATEMENT } from '../../report/phrases/statement.js';
import { sideText } from '../../report/phrases/trade-codes.js';
import { implantOf, isReleased, type PaperContent, paperIdentity } from './paper.js';
import { type StatementFacts, statementFacts } from './statement-facts.js';

/** The statement of one custom-made device, to be signed by the manufacturer. */
export async function renderStatement(content: PaperContent, serial: string): Promise<Buffer> {
  const stated = statementFacts(content, serial);
  const identity = paperIdentity(content, {
    number: `STATEMENT-${serial}`,
    title: STATEMENT.titleOf(serial),
    serials: [serial],
    mayGo: isReleased,
  });
  return renderTwice(identity, (page) => drawStatement(page, content, serial, stated));
}

function drawStatement(page: RecordPage, content: PaperContent, serial: string, stated: StatementFacts): void {
  const { facts } = content;
  const { manufacturer, conformity, found, prescribedCharacteristics } = stated;
  const { model, title, alloy } = facts.family.body;
  const implant = implantOf(content, serial);
  page.title(STATEMENT.title, STATEMENT.clause);
  page.facts([
    [STATEMENT.manufacturer, PAPER.maker(manufacturer)],
    [STATEMENT.sites, manufacturer.sites.join('\n')],
    [STATEMENT.representative, manufacturer.representative ?? STATEMENT.noRepresentative],
    [STATEMENT.device, STATEMENT.deviceOf(model ?? title, serial, facts.lot.body.lot, implant.designIteration, alloy)],
    [STATEMENT.intendedFor, STATEMENT.patient(found.case)],
    [STATEMENT.prescribedBy, PAPER.prescriber(found.prescriber)],
    [STATEMENT.prescription, STATEMENT.prescriptionOf(found.prescription.reference, timeText(found.prescription.at))],
    [
      STATEMENT.prescribed,
      STATEMENT.prescribedFor(prescribedCharacteristics, found.anatomicalSite, sideText(found.side)),
    ],
    [STATEMENT.substances, conformity.substances],
  ]);
  page.paragraph(conformity.exceptions.length === 0 ? STATEMENT.conforms : STATEMENT.conformsBut);
  if (conformity.exceptions.length > 0) {
    page.table({
      caption: STATEMENT.exceptions,
      columns: [
        { head: STATEMENT.requirement, width: 4 },
        { head: STATEMENT.grounds, width: 8 },
      ],
      rows: conformity.exceptions.map(({ requirement, grounds }) => [requirement, grounds]),
    });
  }
  page.heading(2, STATEMENT.signed, { listed: false });
  page.facts([
    [STATEMENT.name, '____________________________________________'],
    [STATEMENT.placeAndDate, '____________________________________________'],
    [STATEMENT.signature, '____________________________________________'],
  ]);
  page.paragraph(
    STATEMENT.filledIn(
      content.program,
      content.printedBy,
      timeText(content.printedAt),
      content.dossierSha256.slice(0, 12),
    ),
    { small: true },
  );
}

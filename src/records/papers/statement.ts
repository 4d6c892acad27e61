import { type CustomStatement, statementSubject } from '../../assessment/custom-statement.js';
import { signedOn } from '../../assessment/signed.js';
import { timeText } from '../../dossier/time-text.js';
import type { RecordPage } from '../../pdf/page.js';
import { renderTwice } from '../../pdf/render.js';
import { roleText } from '../../report/phrases/codes.js';
import { PAPER } from '../../report/phrases/paper.js';
import { STATEMENT } from '../../report/phrases/statement.js';
import { sideText } from '../../report/phrases/trade-codes.js';
import { isReleased, type PaperContent, paperIdentity } from './paper.js';
import { statementFacts } from './statement-facts.js';

const TO_FILL_IN = '____________________________________________';

/** The statement of one custom-made device, with the signature of a regulatory person, or room for one by hand. */
export async function renderStatement(content: PaperContent, serial: string): Promise<Buffer> {
  const stated = statementFacts(content, serial);
  const identity = paperIdentity(content, {
    number: `STATEMENT-${serial}`,
    title: STATEMENT.titleOf(serial),
    serials: [serial],
    mayGo: isReleased,
  });
  return renderTwice(identity, (page) => drawStatement(page, content, stated));
}

function drawStatement(page: RecordPage, content: PaperContent, stated: CustomStatement): void {
  const { manufacturer, conformity, device, prescription } = stated;
  page.title(STATEMENT.title, STATEMENT.clause);
  page.facts([
    [STATEMENT.manufacturer, PAPER.maker(manufacturer)],
    [STATEMENT.sites, manufacturer.sites.join('\n')],
    [STATEMENT.representative, manufacturer.representative ?? STATEMENT.noRepresentative],
    [STATEMENT.device, STATEMENT.deviceOf(device.name, device.serial, device.lot, device.iteration, device.alloy)],
    [STATEMENT.intendedFor, STATEMENT.patient(stated.patient)],
    [STATEMENT.prescribedBy, PAPER.prescriber(stated.prescriber)],
    [STATEMENT.prescription, STATEMENT.prescriptionOf(prescription.reference, timeText(prescription.at))],
    [
      STATEMENT.prescribed,
      STATEMENT.prescribedFor(stated.prescribedCharacteristics, stated.anatomicalSite, sideText(stated.side)),
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
  const [signed] = signedOn(content.facts, statementSubject(stated), 'approved');
  page.facts(
    signed
      ? [
          [STATEMENT.name, STATEMENT.signedBy(signed.person.name, roleText(signed.person.role))],
          [STATEMENT.placeAndDate, timeText(signed.at)],
          [STATEMENT.signature, STATEMENT.signedHere],
        ]
      : [
          [STATEMENT.name, TO_FILL_IN],
          [STATEMENT.placeAndDate, TO_FILL_IN],
          [STATEMENT.signature, TO_FILL_IN],
        ],
  );
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

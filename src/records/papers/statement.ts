import { AppError, BadInputError, type Problem } from '../../base/errors.js';
import { timeText } from '../../dossier/time-text.js';
import type { Case } from '../../kinds/case.js';
import type { Family } from '../../kinds/family.js';
import type { RecordPage } from '../../pdf/page.js';
import { renderTwice } from '../../pdf/render.js';
import { implantOf, type PaperContent, paperIdentity } from './paper.js';

type Manufacturer = NonNullable<Family['manufacturer']>;

/** Everything that the statement has to say, filled in. */
export interface StatementFacts {
  readonly manufacturer: Manufacturer;
  readonly conformity: NonNullable<Family['conformity']>;
  readonly found: Case;
  readonly prescribedCharacteristics: string;
}

/**
 * What the statement of a custom-made device needs (Regulation (EU) 2017/745 Annex XIII section 1, from memory).
 * @throws AppError REFUSED when the family takes another route; BadInputError naming every mandatory item that is empty.
 */
export function statementFacts(content: PaperContent, serial: string): StatementFacts {
  const { facts } = content;
  const { family } = facts;
  if (family.body.route !== 'custom-made') {
    throw new AppError(
      'REFUSED',
      `the statement of Annex XIII belongs to custom-made devices; family ${family.body.family} takes the route ${family.body.route}`,
      { route: family.body.route },
    );
  }
  const implant = implantOf(content, serial);
  const found = facts.cases.get(implant.case)?.body;
  const { manufacturer, conformity } = family.body;
  const wanted: [field: string, value: unknown, what: string][] = [
    ['family.manufacturer', manufacturer, 'name and address of the manufacturer'],
    ['family.manufacturer.sites', manufacturer?.sites.length, 'every place where units are made'],
    ['family.conformity', conformity, 'requirements not fully met with their grounds, and substances'],
    ['case', found, `the facts of case ${implant.case}`],
    ['case.prescribedCharacteristics', found?.prescribedCharacteristics, 'the characteristics that were prescribed'],
  ];
  const problems = wanted
    .filter(([, value]) => !value)
    .map(
      ([field, , what]): Problem => ({
        code: 'statement-incomplete',
        field,
        found: 'nothing',
        expected: what,
        remedy: 'take in the document with this field; the statement is written when nothing is missing',
      }),
    );
  if (problems.length > 0) throw new BadInputError(problems);
  return {
    manufacturer: manufacturer!,
    conformity: conformity!,
    found: found!,
    prescribedCharacteristics: found!.prescribedCharacteristics!,
  };
}

/** The statement of one custom-made device, to be signed by the manufacturer. */
export async function renderStatement(content: PaperContent, serial: string): Promise<Buffer> {
  const stated = statementFacts(content, serial);
  const identity = paperIdentity(content, {
    number: `STATEMENT-${serial}`,
    title: `Statement concerning the custom-made device ${serial}`,
    serials: [serial],
  });
  return renderTwice(identity, (page) => drawStatement(page, content, serial, stated));
}

function drawStatement(page: RecordPage, content: PaperContent, serial: string, stated: StatementFacts): void {
  const { facts } = content;
  const { manufacturer, conformity, found, prescribedCharacteristics } = stated;
  const implant = implantOf(content, serial);
  page.title('Statement concerning a custom-made device', 'Regulation (EU) 2017/745, Annex XIII, section 1');
  page.facts([
    ['Manufacturer', `${manufacturer.name}, ${manufacturer.address}`],
    ['Places of manufacture', manufacturer.sites.join('\n')],
    ['Authorised representative', manufacturer.representative ?? 'none: the manufacturer is established in the Union'],
    [
      'The device',
      `${facts.family.body.model ?? facts.family.body.title}, serial ${serial}, lot ${facts.lot.body.lot}, design iteration ${implant.designIteration}, ${facts.family.body.alloy}`,
    ],
    ['Intended for', `the exclusive use of the patient known to the institution under the code ${found.case}`],
    ['Prescribed by', `${found.prescriber.name}, ${found.prescriber.institution}`],
    ['Prescription', `${found.prescription.reference} of ${timeText(found.prescription.at)}`],
    ['Prescribed characteristics', `${prescribedCharacteristics}\n${found.anatomicalSite}, ${found.side}`],
    ['Medicinal substances, tissues', conformity.substances],
  ]);
  page.paragraph(
    conformity.exceptions.length === 0
      ? 'The device conforms to the general safety and performance requirements set out in Annex I.'
      : 'The device conforms to the general safety and performance requirements set out in Annex I, but for those named here with the grounds.',
  );
  if (conformity.exceptions.length > 0) {
    page.table({
      caption: 'Requirements that are not fully met',
      columns: [
        { head: 'Requirement', width: 4 },
        { head: 'Grounds', width: 8 },
      ],
      rows: conformity.exceptions.map(({ requirement, grounds }) => [requirement, grounds]),
    });
  }
  page.heading(2, 'Signed for the manufacturer', { listed: false });
  page.facts([
    ['Name and function', '____________________________________________'],
    ['Place and date', '____________________________________________'],
    ['Signature', '____________________________________________'],
  ]);
  page.paragraph(
    `Filled in by ${content.program} for ${content.printedBy}, ${timeText(content.printedAt)}, from the lot file ${content.dossierSha256.slice(0, 12)}. The statement is made by whoever signs it. Keep it at least ten years, for implants fifteen (Annex XIII section 4).`,
    { small: true },
  );
}

import { AppError, BadInputError, type Problem } from '../../base/errors.js';
import type { Case } from '../../kinds/case.js';
import type { Family } from '../../kinds/family.js';
import { implantOf, type PaperContent } from './paper.js';

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

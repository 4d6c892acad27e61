import { type CustomStatement, customStatement, type StatedField } from '../../assessment/custom-statement.js';
import { AppError, BadInputError, type Problem } from '../../base/errors.js';
import { lawsOfCase } from '../../kinds/laws.js';
import { isNeeded } from '../../kinds/route-needs.js';
import { implantOf, type PaperContent } from './paper.js';

/**
 * What the statement of a custom-made device needs (Regulation (EU) 2017/745 Annex XIII section 1, from memory).
 * @throws AppError REFUSED when the family takes another route; BadInputError naming every mandatory item that is empty.
 */
export function statementFacts(content: PaperContent, serial: string): CustomStatement {
  const { facts } = content;
  const { family } = facts;
  const implant = implantOf(content, serial);
  const found = facts.cases.get(implant.case)?.body;
  const laws = found ? lawsOfCase(family.body, found) : [];
  if (family.body.route !== 'custom-made' && !isNeeded('statement', laws)) {
    throw new AppError(
      'REFUSED',
      `the statement of Annex XIII belongs to custom-made devices; family ${family.body.family} takes the route ${family.body.route}`,
      { route: family.body.route },
    );
  }
  const stated = customStatement(facts, implant);
  if (!('lacks' in stated)) return stated;
  throw new BadInputError(
    stated.lacks.map(
      (field): Problem => ({
        code: 'statement-incomplete',
        field,
        found: 'nothing',
        expected: field === 'case' ? `the facts of case ${implant.case}` : WANTED[field],
        remedy: 'take in the document with this field; the statement is written when nothing is missing',
      }),
    ),
  );
}

const WANTED: Readonly<Record<Exclude<StatedField, 'case'>, string>> = {
  'family.manufacturer': 'name and address of the manufacturer',
  'family.manufacturer.sites': 'every place where units are made',
  'family.conformity': 'requirements not fully met with their grounds, and substances',
  'case.prescribedCharacteristics': 'the characteristics that were prescribed',
};

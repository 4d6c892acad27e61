import { counted } from '../counted.js';

/** What the command on the design history of a family prints around the facts. */
export const DESIGN_LINES = {
  title: (family: string, day: string, open: number, answered: number) =>
    `Design history of family ${family} as of ${day}: ${open === 0 ? 'no open gap' : `${counted(open, 'open gap')}`}${
      answered === 0 ? '' : `, ${answered} answered`
    }.`,
  gap: (rule: string, kind: string, key: string, says: string) => `${rule}: ${kind} ${key}: ${says}`,
  who: (owners: readonly string[], by: string | null) =>
    `for ${owners.length === 0 ? 'nobody who is named' : owners.join(', ')}${by === null ? '' : `, by ${by}`}`,
  answered: ({ justification, until, by }: { justification: string; until: string | null; by: string }) =>
    `answered by ${by}${until === null ? '' : ` until ${until}`}: ${justification}`,
  identity: (id: string) => `gap ${id}`,
  matrix: 'From each need to what shows that it is met:',
  heads: ['need', 'input', 'output', 'verified by', 'validated by', 'risk controls'],
  claims: 'What the values on record say of each study:',
  printed: (number: string, file: string, draft: boolean, open: number) =>
    `${number} written to ${file}: ${draft ? `a draft without seal, ${open === 0 ? 'since no approved baseline froze the design so' : `${counted(open, 'gap')} open`}` : 'sealed, with no gap open'}.`,
  deviceFile: (family: string, day: string) => `What the shop floor works by for family ${family} as of ${day}:`,
  deviceHeads: ['document', 'title', 'approved by', 'digest'],
  nothingApproved: 'Nothing is approved and in effect.',
  noTime: (found: string) =>
    `--as-of is ${JSON.stringify(found)}, expected a day such as 2031-03-02 or a moment with its offset such as 2031-03-02T08:15:00+01:00`,
  ahead: (found: string) => `${found} lies ahead: give a day that has come`,
};

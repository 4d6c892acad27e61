import { counted } from './counted.js';

/** Sentences with facts in them on the pages of a design history. */
export const DESIGN_PAGE = {
  says: (day: string, open: number, answered: number) =>
    `As of ${day}: ${open === 0 ? 'no gap is open' : `${counted(open, 'gap')} open`}${
      answered === 0 ? '' : `, ${answered} answered`
    }.`,
  matrixFigure: 'From need to test and lot, as a picture',
  answer: ({ justification, until, by }: { justification: string; until: string | null; by: string }) =>
    `${by}${until === null ? '' : `, until ${until}`}: ${justification}`,
  pinned: (revision: number | null, isCurrent: boolean | null) =>
    revision === null ? '' : isCurrent === false ? `${revision}, not the current one` : String(revision),
  standing: ({
    revision,
    authors,
    approvedBy,
    withdrawn,
  }: {
    revision: number;
    authors: readonly string[];
    approvedBy: string | null;
    withdrawn: boolean;
  }) =>
    withdrawn
      ? `Revision ${revision}, withdrawn for cause.`
      : `Revision ${revision}, ${authors.length === 0 ? 'signed by no author' : `by ${authors.join(', ')}`}, ${
          approvedBy === null ? 'a draft: nobody approved it' : `approved by ${approvedBy}`
        }.`,
};

/** The form by which a design is frozen. */
export const FREEZE_FORM = {
  labels: { name: 'Name of the baseline', family: 'Family' },
  hint: 'It holds every current document of the design by its digest, as they stand now. It is in force once its author signed it and quality approved it.',
  asks: 'a code: letters and digits, with - . _ inside',
  send: 'Freeze as it stands',
} as const;

import { approvedBy, type LinkDraft, tie } from '../kind.js';

/** Lots do without the design history of what they are built to: their lot files do not carry it. */
export const ASIDE = { aside: true } as const;

/** Ties of every document of a design history: its family, and whoever is said to have approved it. */
export const headTies = (document: {
  readonly family: string;
  readonly approval?: { readonly by: string } | undefined;
}): LinkDraft[] => [tie('of family', 'family', document.family, 'family', ASIDE), ...approvedBy(document.approval)];

import type { CheckPhrases } from '../phrase.js';

export const statementSigned: CheckPhrases = {
  title: 'Statement of the custom-made device signed',
  asks: 'Has a regulatory person signed the statement of each custom-made implant, as it reads now?',
  recompute: `For each implant with a law that asks for a statement (see route-needs). The statement is {"manufacturer", "conformity"} of
the family, "device": {"name": its "model", else "title", "alloy", "serial", "lot", "iteration": "designIteration" of the implant},
"patient": code of the case, and "prescriber", "prescription", "prescribedCharacteristics", "anatomicalSite", "side" of the case.
"not complete" when manufacturer, its "sites", conformity or prescribedCharacteristics are missing; else "not signed" without an
"approved" statement on the digest of it. Does not apply without such an implant.`,
  basis: ({ units }) => `implants with a statement: ${units}`,
  doesNotApply: 'no implant is used under a law and route that asks for the statement of a custom-made device',
  rules: {
    'not complete': (facts) => ({
      says: `The statement for ${facts.unit} cannot be written: there is no ${facts.lacks}.`,
      clearedBy: 'Regulatory person: take in the document with these fields.',
    }),
    'not signed': (facts) => ({
      says: `The statement for ${facts.unit}, as it reads now, is signed by nobody.`,
      clearedBy: 'Regulatory person: read it and sign it.',
    }),
  },
};

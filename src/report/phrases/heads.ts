/** Heads and names that several tables, papers and pages have in common. */
export const HEADS = {
  decisions: 'Decision on each implant',
  proposedOutcome: 'Proposed outcome',
  signedBy: 'Signed by',
  signedAt: 'Signed at',
  signedContent: 'Signed content',
  prescribedCharacteristics: 'Prescribed characteristics',
  readWithCare: 'Read with care',
  supplierLot: 'Supplier lot',
  whatItIs: 'What it is',
  wholeLot: 'the whole lot',
  auditTrail: 'Audit trail',
  udi: (humanReadable: string) => `UDI ${humanReadable}`,
  revision: (name: string, revision: number | string) => `${name} rev ${revision}`,
};

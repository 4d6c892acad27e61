import { timeText } from '../../../dossier/time-text.js';
import { approvalPhrases } from '../approval.js';
import { type CheckPhrases, CONCEDE, type Told } from '../phrase.js';

const what = ({ material, receipt }: Told): string => `${material}, receipt ${receipt}`;

const LOOK = 'Operator: compare the label of the container with the certificate, and take in what it says.';

export const deliveredAsOrdered: CheckPhrases = {
  title: 'Material delivered as ordered',
  asks: 'Is each delivery what its material specification asks for: material, lot on the label, certificate, container, age?',
  recompute: `For each build and each receipt that went into it, where it names a material specification. Of that: "no approval" or
"claimed, not signed" where it is not approved. Of the receipt: "another material" when the "material" of the two differs; "not yet
effective" (C) when "effectiveFrom" lies after "receivedAt"; "type not accepted" (C) when "certificateTypes" lacks the "type" of its
certificate; "label not read" (C) without "labelLot", and "another lot on the label" when that is not "supplierLot"; "seal broken" (C)
and "desiccant in it" (C) by "container"; "kept too long" (C) when more than "shelfLifeDays" lie between the calendar dates of
"receivedAt" and "closedAt" as written there. Implants: those of the build. Does not apply when there is no such receipt.`,
  basis: ({ receipts }) => receipts,
  doesNotApply: 'no receipt names what it was ordered to',
  rules: {
    ...approvalPhrases(({ ordered }) => `Material specification ${ordered}`),
    'another material': (facts) => ({
      says: `${what(facts)} names ${facts.ordered}, the specification of another material.`,
      clearedBy: 'Operator: name the specification to which it was ordered.',
    }),
    'not yet effective': (facts) => ({
      says: `${what(facts)} came in at ${timeText(facts.receivedAt)}; ${facts.ordered} took effect at ${timeText(facts.effectiveFrom)}.`,
      clearedBy: `Operator: name the revision that was in force when it was ordered. ${CONCEDE}`,
    }),
    'type not accepted': (facts) => ({
      says: `${what(facts)} came with a certificate of type ${facts.type}; ${facts.ordered} accepts ${facts.types}.`,
      clearedBy: `Quality engineer: get a certificate of an accepted type. ${CONCEDE}`,
    }),
    'label not read': (facts) => ({
      says: `${what(facts)}: nobody wrote down which lot the label of the container names.`,
      clearedBy: LOOK,
    }),
    'another lot on the label': (facts) => ({
      says: `${what(facts)}: the label names lot ${facts.label}, the certificate lot ${facts.supplierLot}.`,
      clearedBy: `${LOOK} A certificate of another lot says nothing of this one.`,
    }),
    'seal broken': (facts) => ({
      says: `${what(facts)} came with a broken seal.`,
      clearedBy: `Analyst: test it, for the rationale. ${CONCEDE}`,
    }),
    'desiccant in it': (facts) => ({
      says: `${what(facts)} came with desiccant lying in the material.`,
      clearedBy: `Analyst: test it, for the rationale. ${CONCEDE}`,
    }),
    'kept too long': (facts) => ({
      says: `${what(facts)} was ${facts.days} days old when the chamber was closed at ${timeText(facts.closedAt)}; ${facts.ordered} allows ${facts.most}.`,
      clearedBy: `Analyst: test the material again, for the rationale. ${CONCEDE}`,
    }),
  },
};

import { actNameText } from './acts.js';
import { type CodedBy, codedText } from './coded.js';
import { roleText } from './codes.js';

/** What somebody must not have done, in order to be independent for an act. */
export const INDEPENDENCE = {
  author: 'did not sign the document as its author',
  transcriber: 'did not transcribe the certificate',
  enterer: 'did not write the acceptance down',
  runner: 'did not run the load',
  preparer: 'did not make the face of the stock part ready',
  self: 'is not the person concerned',
  typist: 'typed none of the values',
  decided: 'has not decided this finding before: it takes two people',
  maker: 'performed no build step of this lot',
  tester: 'performed no test of this lot',
  decider: 'decided no finding of this lot',
  reviewer: 'did not review this lot file',
};
export type IndependenceRule = keyof typeof INDEPENDENCE;

/** What an act needs beside role, qualification and independence: something that must have been signed before. */
export const ORDER = {
  authored: 'the author has signed the revision as performed',
  measured: 'the person is named as analyst of values in the sheet',
  reviewed: 'a quality engineer has reviewed exactly this lot file',
  releasable:
    'nothing blocks the units for this step, none is on hold, none is decided already, and a second one for a case has a reason',
  'earlier steps': 'the units are released for every earlier step of their route',
  gates: 'the units have passed every gate of their route',
};
export type OrderRule = keyof typeof ORDER;

/** Why authority forbids an act, by code. The rule: `authorityFor` in `src/people/authority.ts`. */
export const DENIALS = {
  auditor: () => 'an auditor reads everything and changes nothing',
  'two people': () => 'it takes two people',
  role: ({ act, roles }: { act: string; roles: readonly string[] }) =>
    `"${actNameText(act)}" needs the role ${roles.map(roleText).join(' or ')}`,
  independence: ({ act, rule, person }: { act: string; rule: IndependenceRule; person: string }) =>
    `independence: whoever is to ${actNameText(act)} ${INDEPENDENCE[rule]}, and ${person} did`,
  'role taken': ({ held, open }: { held: string; open: readonly string[] }) =>
    `a ${roleText(held)} has signed this already; it needs a ${open.map(roleText).join(' or ') || 'nobody more'}`,
  qualification: ({ person, qualification }: { person: string; qualification: string }) =>
    `${person} has no signed qualification for "${qualification}" that covers this day`,
};

export type Denial = CodedBy<typeof DENIALS>;

export const denialText = (denial: Denial): string => codedText(DENIALS, denial);

import type { CheckPhrases } from '../phrase.js';

export const expiryAfterSurgery: CheckPhrases = {
  title: 'Expires after the day of surgery',
  asks: 'Does each packed implant expire after the day on which its case needs it?',
  recompute: `Expiry of an implant whose steps (as in holds-kept) pack it: the earliest of the day of the last such "at" and
"shelfLifeDays" of the specification later; "expiry" of the load that its last step pack, and its last step sterilise,
names, if that is of this step and lists it; and "takenOn" of each imaging set that the built design of its case names and
"imageAgeDays" of the envelope later. For each such implant: "no expiry" where there is none of these and the family is
"sterile"; "expires before it is used" [does not conform] unless the expiry lies after "surgeryOn" of the case, or
"neededBy" without that. Does not apply where nothing was packed.`,
  basis: ({ implants }) => `packed implants: ${implants}`,
  doesNotApply: 'nothing was packed yet: no step "pack"',
  rules: {
    'no expiry': ({ unit }) => ({
      says: `${unit} is delivered sterile, and nothing says until when: no shelf life, no expiry of its pack.`,
      clearedBy:
        'Quality engineer: state "shelfLifeDays" in the specification, or "expiry" of the load that packed it.',
    }),
    'expires before it is used': ({ unit, case: code }) => ({
      says: `${unit} expires before or on the day on which case ${code} needs it.`,
      clearedBy: 'Process and quality engineer: pack or sterilise it anew where that lasts longer, or reject it.',
    }),
  },
};

import { z } from 'zod';
import { RELEASE_STEPS } from '../dossier/release-step.js';
import { Meaning } from '../dossier/statement.js';
import { KnownPassword } from '../people/password-fields.js';
import { EntryNumber, mayBeEmpty, Reason, several, Units } from '../web/fields.js';
import { SEEN_FORM } from './beside.js';
import { MOST_THINGS } from './sign-address.js';

const things = several(z.string().min(1).max(400), { least: 1, most: MOST_THINGS, what: 'names of things' });

/** What `seenText` gave. */
export const Seen = z.string().max(400).regex(SEEN_FORM, 'what stood under "seen" where this was shown');

const Step = z.enum(RELEASE_STEPS, RELEASE_STEPS.join(' or '));

/** What the address of the page on which something is signed names. */
export const SignQuery = z.strictObject({
  thing: things,
  meaning: Meaning,
  step: Step.optional().describe('what a release is for; where it is not said, the next that is open'),
});
export type SignQuery = z.infer<typeof SignQuery>;

/** Freezing a lot anew, on the way to signing its file with a meaning. */
export const FreezeRequest = z.strictObject({ meaning: Meaning });
export type FreezeRequest = z.infer<typeof FreezeRequest>;

/** One act of signing, on the page and by programs. */
export const SignRequest = z.strictObject({
  things: things.describe(
    'what is signed in one statement, of one kind and one lot, as /waiting names it; with # and a digest exactly what was seen',
  ),
  meaning: Meaning,
  units: Units.describe('serials, for released and rejected'),
  step: mayBeEmpty(Step).describe('what a release is for: each names its step'),
  outcome: mayBeEmpty(z.enum(['accepted', 'rejected'], 'accepted or rejected')).describe('for decided'),
  reason: Reason.optional().describe('rationale of a decision, reason of a rejection'),
  seen: Seen.optional().describe(
    'what the same address answers to GET under "seen"; with it nothing is signed when what lies beside it has changed since',
  ),
  password: KnownPassword.describe('of the person who is signed in; each act of signing needs it'),
});
export type SignRequest = z.infer<typeof SignRequest>;

/** What goes back into the form: without things there is nothing to show again. */
export const TypedSignature = z.object({
  things,
  meaning: Meaning,
  units: Units.catch([]),
  step: Step.optional().catch(undefined),
  outcome: z.string().catch(''),
  reason: Reason.catch(''),
  seen: Seen.catch(''),
});
export type TypedSignature = z.infer<typeof TypedSignature>;

/** Placing a hold on units, lifting it, revoking their release: on the page and by programs. */
export const UnitActRequest = z.strictObject({ units: Units, reason: Reason.default(''), password: KnownPassword });
export type UnitActRequest = z.infer<typeof UnitActRequest>;

export const WithdrawRequest = UnitActRequest.omit({ units: true });
export type WithdrawRequest = z.infer<typeof WithdrawRequest>;

/** What goes back into either form. */
export const TypedAct = z.object({ units: Units.catch([]), reason: Reason.catch('') });
export type TypedAct = z.infer<typeof TypedAct>;

/** Looking at verdicts that a new version of the program changed. */
export const LookRequest = z.strictObject({
  entries: several(EntryNumber, {
    least: 1,
    most: 500,
    what: 'entries of the audit trail',
  })
    .transform((entries) => entries.map(Number))
    .describe('entries of the audit trail that record the changes'),
  reason: Reason.default(''),
  password: KnownPassword,
});
export type LookRequest = z.infer<typeof LookRequest>;

/** The same by a program, which names entries as it was told them. */
export const LookByProgram = LookRequest.extend({
  entries: z
    .array(z.int().positive())
    .min(1, 'at least 1')
    .max(500, 'at most 500')
    .describe('entries of the audit trail that record the changes'),
});
export type LookByProgram = z.infer<typeof LookByProgram>;

export const TypedLook = z.object({ reason: Reason.catch('') });
export type TypedLook = z.infer<typeof TypedLook>;

import { z } from 'zod';
import { FORM_LABELS } from '../report/phrases/form-labels.js';
import { LONGEST_TYPED_PASSWORD } from '../web/fields.js';
import { LONGEST_PASSWORD, SHORTEST_PASSWORD } from './passwords.js';

/** Only bounds what is hashed: what a password must be is a rule of `passwords.ts`, which counts characters as people see them. */
const typedPassword = (what: string) =>
  z
    .string({ error: what })
    .min(1, what)
    .max(LONGEST_TYPED_PASSWORD, `a password of at most ${LONGEST_PASSWORD} characters`);

/** Of whoever is signed in or signs in: each act of signing needs it again. */
export const KnownPassword = typedPassword('your password');

const ChosenPassword = typedPassword('a password');

/** Fields of every form in which a person chooses a password. */
export const NewPassword = { password: ChosenPassword, repeated: ChosenPassword };

export const PASSWORD_HINT = FORM_LABELS.passwordHint(SHORTEST_PASSWORD);

/** Says so at the second field when it differs from the first. */
export function checkRepeated(
  form: { readonly password: string; readonly repeated: string },
  context: z.core.$RefinementCtx,
): void {
  if (form.password === form.repeated) return;
  context.addIssue({ code: 'custom', path: ['repeated'], message: 'the same password a second time' });
}

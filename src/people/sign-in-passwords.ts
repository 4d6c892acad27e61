import { z } from 'zod';
import { SHORTEST_PASSWORD } from './passwords.js';

/** Fields of every form in which a person chooses a password. What the password must be is a rule of `signing`. */
export const NewPassword = {
  password: z.string().min(1, 'a password').max(1000, 'a password of at most 128 characters'),
  repeated: z.string().max(1000, 'a password of at most 128 characters'),
};

export const PASSWORD_HINT = `At least ${SHORTEST_PASSWORD} characters. Several unrelated words do well; no kinds of characters are asked for. A password manager may fill it in.`;

/** Says so at the second field when it differs from the first. */
export function checkRepeated(
  form: { readonly password: string; readonly repeated: string },
  context: z.core.$RefinementCtx,
): void {
  if (form.password === form.repeated) return;
  context.addIssue({ code: 'custom', path: ['repeated'], message: 'the same password a second time' });
}
